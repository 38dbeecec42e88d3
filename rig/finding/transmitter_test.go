package finding

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/unit"
)

func TestCurveOf(t *testing.T) {
	at := Thresholds{Arm: 0.30, Disarm: 0.26}
	for name, c := range map[string]struct {
		sticks []float64
		want   CurveKind
	}{
		"stays up":              {[]float64{0.5, 0.7, 1}, KeepsGoverning},
		"just above the margin": {[]float64{0.295, 1}, KeepsGoverning},
		"within the margin":     {[]float64{0.285, 1}, Disengages},
		"open at the bottom":    {[]float64{1, 0.2, 1}, Disengages},
		"never up":              {[]float64{0, 0.32}, NeverEngages},
	} {
		require.Equal(t, c.want, CurveOf(c.sticks, at).Kind, name)
	}
	require.True(t, at.LetsGo(0.2))
	require.False(t, at.LetsGo(0.25), "within the margin")
}

// An analogue servo is made for about 50 frames a second (common practice, no
// source).
func TestFramesBeyond(t *testing.T) {
	most := unit.Frequency(333)
	for name, c := range map[string]struct {
		servo  machine.Servo
		rate   float64
		beyond bool
	}{
		"not known":                   {machine.Servo{}, 200, false},
		"digital, nothing more known": {machine.Servo{Kind: machine.Digital}, 200, false},
		"analogue":                    {machine.Servo{Kind: machine.Analogue}, 71, true},
		"analogue, about 50":          {machine.Servo{Kind: machine.Analogue}, 54, false},
		"what its maker allows":       {machine.Servo{Kind: machine.Digital, FrameRate: &most}, 333, false},
		"more than its maker allows":  {machine.Servo{Kind: machine.Digital, FrameRate: &most}, 400, true},
	} {
		_, beyond := FramesBeyond(c.rate, &c.servo)
		require.Equal(t, c.beyond, beyond, name)
	}
}
