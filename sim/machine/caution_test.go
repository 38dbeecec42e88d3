package machine_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
)

// Cautions stand beside a machine that can be run all the same.
func TestCautions(t *testing.T) {
	for name, c := range map[string]struct{ from, to, path, says string }{
		"fast tips":           {"radius: 0.69 m", "radius: 0.85 m", "speeds.brisk.head_speed", "Mach 0.4"},
		"blades too slow":     {"greatest_head_speed: 2100 rpm", "greatest_head_speed: 2000 rpm", "governor.highest_speed", "turns the head at 2077 rpm, and the blade maker allows 2000 rpm"},
		"frames for analogue": {"  travel: 80°", "  kind: analogue", "governor.frame_rate", "sends 71 pulses a second, and the throttle servo is made for 50"},
		"frames for digital":  {"  travel: 80°", "  kind: digital\n  highest_frame_rate: 60 Hz", "governor.frame_rate", "is made for 60"},
		"pulse for no step":   {"head_speed: 1800 rpm", "head_speed: 1800 rpm\n    select_pulse: 1800 µs", "speeds.brisk.select_pulse", "not used"},
		"weak engine":         {"mean_effective_pressure: 350 kPa", "mean_effective_pressure: 160 kPa", "speeds.hover.head_speed", "at full throttle there are"},
		"heavy load":          {"collective_high: 6.5°", "collective_high: 12°", "speeds.circuit.head_speed", "lower load_step.collective_high"},
		"slipping":            {"torque: 2.4 N·m", "torque: 0.1 N·m", "speeds.hover.head_speed", "the clutch slips"},
		"near stall":          {"flying_mass: 4.7 kg", "flying_mass: 17 kg", "speeds.hover.head_speed", "near stall"},
		"wrong pulses":        {"  speed_step: 25 rpm", "  pulses_per_turn: 2", "governor.pulses_per_turn", "counts 2 to a turn, but by its geometry the pickup gives 1"},
		"no pulses":           {"  gap: 1.4 mm", "  gap: 9 mm", "governor.pulses_per_turn", "gives 0"},
		"wrong way round":     {"  gap: 1.4 mm", "  gap: 1.4 mm\n  pole: north", "governor.pulses_per_turn", "gives 0"},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := machine.Parse("club.yaml", []byte(strings.Replace(edit(t, c.from, c.to), "  speed_step: 25 rpm", "  speed_step: 25 rpm\n  frame_rate: 71 Hz", 1)))
			require.NoError(t, err)
			require.NotEmpty(t, m.Cautions)
			require.Regexp(t, `^club\.yaml:\d+:\d+: `, m.Cautions[0])
			found := ""
			for _, caution := range m.Cautions {
				found += caution + "\n"
			}
			require.Contains(t, found, c.path)
			require.Contains(t, found, c.says)
		})
	}
}
