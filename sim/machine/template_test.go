package machine_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

func TestNewFileLoads(t *testing.T) {
	text, err := machine.Template(nil)
	require.NoError(t, err)
	m, err := machine.Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	require.Empty(t, m.Cautions)
	require.NotEmpty(t, m.Defaults)
	require.Less(t, 2*len(text), keyfile.MaxSize)
}

func TestAnswersReplaceValues(t *testing.T) {
	text, err := machine.Template(map[string]string{
		"name":                    "Odd: #1 \"name\"",
		"engine.displacement":     "6 cc",
		"gears[0].driver":         "9",
		"gears[0].driven":         "85",
		"speeds.hover.head_speed": "1500 rpm",
		"main_rotor.hub_inertia":  "2 g·m²", // only shown by default
		"carburettor.bore":        "7 mm",
	})
	require.NoError(t, err)
	require.Contains(t, text, "  #barrel_hole: 7 mm\n")
	m, err := machine.Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	require.Equal(t, "Odd: #1 \"name\"", m.Name)
	require.InDelta(t, 6e-6, float64(m.Engine.Displacement), 1e-18)
	require.InDelta(t, 85.0/9, m.Ratio(), 1e-12)
	require.InDelta(t, 157.07963, float64(m.Speeds[0].HeadSpeed), 1e-4)
	require.InDelta(t, 0.002, float64(m.Main.HubInertia), 1e-12)
}

func TestWrongAnswersAreRefused(t *testing.T) {
	for _, answer := range []string{"15", "15 mm", "-1 cc", "", "15 cc\nname: other"} {
		text, err := machine.Template(map[string]string{"engine.displacement": answer, "gears[0].driver": "0"})
		require.Empty(t, text)
		var faults keyfile.Faults
		require.ErrorAs(t, err, &faults)
		require.Len(t, faults, 2)
		require.Equal(t, "engine.displacement", faults[0].Path)
		require.Equal(t, "gears[0].driver", faults[1].Path)
	}
}
