package machine_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
)

// What a person types in another habit is understood where it can mean one
// thing only. The SI values are by hand, from the definitions of the units.
func TestSlipsThatAreUnderstood(t *testing.T) {
	const rpm = math.Pi / 30
	volume := func(m *machine.Machine) float64 { return float64(m.Engine.Displacement) }
	idle := func(m *machine.Machine) float64 { return float64(m.Engine.IdleSpeed) }
	gap := func(m *machine.Machine) float64 { return float64(m.Pickup.Gap) }
	mass := func(m *machine.Machine) float64 { return float64(m.FlyingMass) }
	air := func(m *machine.Machine) float64 { return float64(m.Air.Temperature) }
	travel := func(m *machine.Machine) float64 { return float64(m.Servo.Travel) }
	inertia := func(m *machine.Machine) float64 { return float64(m.Engine.Inertia) }
	for typed, c := range map[string]struct {
		from string
		read func(*machine.Machine) float64
		si   float64
	}{
		"displacement: 15 ccm":      {"displacement: 15 cm³", volume, 15e-6},
		"displacement: 15cc":        {"displacement: 15 cm³", volume, 15e-6},
		"displacement: 15cm^3":      {"displacement: 15 cm³", volume, 15e-6},
		"displacement: 15,2 ccm":    {"displacement: 15 cm³", volume, 15.2e-6},
		"displacement: '15 cc'":     {"displacement: 15 cm³", volume, 15e-6},
		"displacement: 15 cc # new": {"displacement: 15 cm³", volume, 15e-6},
		"idle_speed: 3200 RPM":      {"idle_speed: 3200 rpm", idle, 3200 * rpm},
		"idle_speed: 3200 U/min":    {"idle_speed: 3200 rpm", idle, 3200 * rpm},
		"idle_speed: 3200 1/min":    {"idle_speed: 3200 rpm", idle, 3200 * rpm},
		"idle_speed: 3200 min-1":    {"idle_speed: 3200 rpm", idle, 3200 * rpm},
		"idle_speed: 3 200 rpm":     {"idle_speed: 3200 rpm", idle, 3200 * rpm},
		"gap: 1,4 mm":               {"gap: 1.4 mm", gap, 0.0014},
		"gap: 1,40 mm":              {"gap: 1.4 mm", gap, 0.0014},
		"gap: 0.055 in":             {"gap: 1.4 mm", gap, 0.001397},
		"gap: 0,055 inch":           {"gap: 1.4 mm", gap, 0.001397},
		"gap: .14 cm":               {"gap: 1.4 mm", gap, 0.0014},
		"gap:    1.4mm":             {"gap: 1.4 mm", gap, 0.0014},
		"flying_mass: 10,4 lb":      {"flying_mass: 4.7 kg", mass, 4.717360648},
		"flying_mass: 10.4 lbs":     {"flying_mass: 4.7 kg", mass, 4.717360648},
		"flying_mass: 4700 g":       {"flying_mass: 4.7 kg", mass, 4.7},
		"temperature: 70 °F":        {"temperature: 21 °C", air, 294.2611111},
		"temperature: 70 F":         {"temperature: 21 °C", air, 294.2611111},
		"temperature: 21 C":         {"temperature: 21 °C", air, 294.15},
		"travel: 80 deg":            {"travel: 80°", travel, 80 * math.Pi / 180},
		"travel: 80 degrees":        {"travel: 80°", travel, 80 * math.Pi / 180},
		"inertia: 0,36 kgcm2":       {"inertia: 0.36 kg·cm²", inertia, 36e-6},
		"inertia: 360 g*cm^2":       {"inertia: 0.36 kg·cm²", inertia, 36e-6},
	} {
		m, err := machine.Parse("club.yaml", []byte(edit(t, c.from, typed)))
		require.NoError(t, err, typed)
		require.InEpsilon(t, c.si, c.read(m), 1e-9, typed)
	}
}

// A path at which there is nothing names the file that was most likely meant.
func TestMissingFile(t *testing.T) {
	const folder = "../../testdata/machines/"
	for typed, says := range map[string]string{
		"medium-15cc":      "did you mean " + folder + "medium-15cc.yaml?",
		"medium-15cc.yml":  "did you mean " + folder + "medium-15cc.yaml?",
		"Medium_15cc.yaml": "did you mean " + folder + "medium-15cc.yaml?",
		"nowhere.yaml":     "govrig new writes one",
	} {
		_, err := machine.Load(folder + typed)
		require.ErrorContains(t, err, "there is no file "+folder+typed+"; "+says)
	}
	_, err := machine.Load(folder)
	require.ErrorContains(t, err, "directory")
}

// What cannot be understood is refused on its own line, with what to do.
func TestSlipsAreShownOnTheirLine(t *testing.T) {
	line, _ := placeOf(t, medium(t), "  gap: 1.4 mm")
	for _, typed := range []string{
		"  gap:1.4 mm", "  gap 1.4 mm", "  gap = 1.4 mm", "  gap; 1.4 mm", "  Gap: 1.4 mm", "  GAP: 1.4 mm", "  gap mm: 1.4",
		" gap: 1.4 mm", "    gap: 1.4 mm", "gap: 1.4 mm", "  gap: 1.4 mm mm", "  gap: 1.4.0 mm", "  gap: 1.4 millimetre",
		"  gap: one mm", "  gap: <2 mm", "  gap: 1.4 mm; check", "  gap: mm 1.4", "  gap: 1.4mm?", "  gap: \"1.4 mm", "  gap: 1.4 mm: new",
		"  - gap: 1.4 mm", "  gap: {1.4 mm}", "  gap: 1.4 mm\n  gap: 1.5 mm", "  gap: 0,1,4 mm", "  gap: 1 400,5 mm", "  gap: 55 thou",
	} {
		t.Run(typed, func(t *testing.T) {
			faults := faultsOf(t, edit(t, "  gap: 1.4 mm", typed))
			near := 0
			for _, f := range faults {
				if f.Line >= line-1 && f.Line <= line+1 {
					near++
					require.NotEmpty(t, f.Remedy)
				}
			}
			require.Positive(t, near, "%v", faults)
			require.LessOrEqual(t, len(faults), 3, "%v", faults)
		})
	}
}
