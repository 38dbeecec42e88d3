package hold

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
)

// A scale machine with four blades, two magnets and a governor without a select
// input, as a new file has it, on the real firmware: the select line plays nothing,
// and the speed that is set at the governor is held.
func TestHoldWithoutSelectOnTheEmulatedBoard(t *testing.T) {
	text, err := machine.Template(map[string]string{
		"engine.displacement": "13 cm3", "main_rotor.blades": "4", "pickup.magnets": "2", "governor.select": "none",
		"gears[0].driver": "9", "gears[0].driven": "90", "speeds.hover.head_speed": "1250 rpm",
	})
	require.NoError(t, err)
	m, err := machine.Parse("scale.yaml", []byte(text))
	require.NoError(t, err)
	b := proceduretest.Emulated(t, m)
	r, err := (&Options{AtSpeeds: governed.AtEach("hover"), Time: 2}).Run(context.Background(), b)
	require.NoError(t, err)
	require.Equal(t, measure.Pass, r.Result.Outcome, "%v", r.Result.Warnings)
	require.InDelta(t, 0, proceduretest.Value(t, r, "setting_to_turn"), 0.05)
	require.InDelta(t, 1250, proceduretest.Value(t, r, "head_speed"), 2)
}
