package machine_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/air"
	"govrig/sim/engine"
	"govrig/sim/machine"
	"govrig/sim/rotor"
)

func made(t require.TestingT, answers map[string]string) *machine.Machine {
	text, err := machine.Template(answers)
	require.NoError(t, err, "%v", answers)
	m, err := machine.Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	return m
}

// Eight times the displacement is twice the length. Similar engines (Taylor,
// The Internal-Combustion Engine in Theory and Practice, vol. 1, from memory):
// speeds ×1/2, torque ×8, moment of inertia ×32, areas ×4. Similar airframes at
// the same power loading, power ×4: mass ×4, radius ×4^(1/3). Factors by hand;
// the file keeps three digits, and teeth are whole.
func TestEightTimesTheEngine(t *testing.T) {
	small, large := made(t, map[string]string{"engine.displacement": "7 cc"}), made(t, map[string]string{"engine.displacement": "56 cc"})
	near := func(want float64, a, b float64) { t.Helper(); require.InEpsilon(t, want, b/a, 0.06) }
	near(0.5, float64(small.Engine.PeakSpeed), float64(large.Engine.PeakSpeed))
	near(0.5, float64(small.Engine.IdleSpeed), float64(large.Engine.IdleSpeed))
	near(0.5, float64(small.Clutch.Engagement), float64(large.Clutch.Engagement))
	near(8, float64(small.Clutch.Torque), float64(large.Clutch.Torque))
	near(32, float64(small.Engine.Inertia), float64(large.Engine.Inertia))
	near(4, math.Pow(float64(small.Carburettor.Bore), 2), math.Pow(float64(large.Carburettor.Bore), 2))
	near(4, float64(small.FlyingMass), float64(large.FlyingMass))
	near(1.5874, float64(small.Main.Radius), float64(large.Main.Radius))
	near(4, float64(small.Main.BladeMass), float64(large.Main.BladeMass))
}

// Usual power at the governed speed, kW (from memory): 15 cm³ methanol 1.5 to
// 2.5, 26 cm³ petrol 1.6 to 2.6. A machine of any size has no cautions, holds
// its load at a part of the throttle, and its heavy load is a climb: more than
// 1.3 times the power of a hover, two thirds of what there is.
func TestNewMachinesAreUsual(t *testing.T) {
	power := func(m *machine.Machine) (full, hover, heavy float64) {
		p, head := m.HeliParams(), float64(m.Speeds[0].HeadSpeed)
		e := engine.New(p.Engine, p.Air.State(), 1e-4)
		r := rotor.New(p.Rotor, p.Air.Density())
		full = e.Torque(1, head*m.Ratio()) * head * m.Ratio()
		hover = r.Steady(head, r.CollectiveFor(float64(m.FlyingMass)*air.Gravity, head, 0), 0).Power
		return full, hover, r.Steady(head, float64(m.LoadStep.CollectiveHigh), 0).Power
	}
	for _, fuel := range []string{"methanol", "petrol"} {
		for _, displacement := range []int{5, 8, 10, 15, 20, 26, 35, 50, 60} {
			m := made(t, map[string]string{"engine.displacement": fmt.Sprint(displacement, " cm³"), "engine.fuel": fuel})
			require.Empty(t, m.Cautions, displacement)
			full, hover, heavy := power(m)
			require.Greater(t, heavy, 1.3*hover, displacement)
			require.InDelta(t, 2./3, heavy/full, 0.04, displacement)
			switch fmt.Sprint(displacement, fuel) {
			case "15methanol":
				require.InDelta(t, 2000, full, 500)
			case "26petrol":
				require.InDelta(t, 2100, full, 500)
			}
		}
	}
}

// Whatever a person answers, the rest of the file fits itself to it.
func TestAnswersAreNeverRefusedForWhatIsAssumed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		answers := map[string]string{}
		maybe := func(path string, text string) {
			if rapid.Bool().Draw(t, path) {
				answers[path] = text
			}
		}
		share := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		volume := share("volume", 5, 60)
		radius := share("radius", 0.5, 1.1)
		head := share("tip speed", 80, 150) / radius
		ratio := min(20, share("engine speed", 0.6, 1.5)*1497/math.Cbrt(volume/15)/head)
		pinion := rapid.IntRange(8, 20).Draw(t, "pinion")
		maybe("engine.displacement", fmt.Sprintf("%.1f cc", volume))
		maybe("engine.fuel", rapid.SampledFrom([]string{"methanol", "petrol"}).Draw(t, "fuel"))
		maybe("flying_mass", fmt.Sprintf("%.2f kg", 4.6*math.Pow(radius/0.69, 3)*share("mass", 0.6, 1.6)))
		maybe("main_rotor.radius", fmt.Sprintf("%.3f m", radius))
		maybe("speeds.hover.head_speed", fmt.Sprintf("%.0f rpm", head*30/math.Pi))
		maybe("main_rotor.blades", fmt.Sprint(rapid.IntRange(2, 5).Draw(t, "blades")))
		switch rapid.IntRange(0, 3).Draw(t, "gears") {
		case 0:
			answers["gears[0].ratio"] = fmt.Sprintf("%.4f", ratio)
		case 1:
			answers["gears[0].driver"], answers["gears[0].driven"] = fmt.Sprint(pinion), fmt.Sprint(math.Round(float64(pinion)*ratio))
		case 2:
			answers["gears[0].driver"] = fmt.Sprint(pinion)
		}
		m := made(t, answers)
		if text, ok := answers["gears[0].ratio"]; ok {
			require.Equal(t, text, fmt.Sprintf("%.4f", m.Ratio()))
		}
	})
}
