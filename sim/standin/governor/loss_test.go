package governor

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// governing is a bench whose governor governs, half open, for a second.
func governing(t *testing.T, change func(*Params)) *bench {
	p := params()
	p.SpeedLow, p.SpeedHigh = 14_000*perRPM, 14_000*perRPM
	change(&p)
	b := newBench(t, p)
	b.stick = (p.ThrottleClosed + p.ThrottleOpen) / 2
	b.run(0.1)
	b.start(constant(14_000))
	require.InDelta(t, b.stick, b.run(1), 3e-6)
	return b
}

// What happens without the pickup, each as its parameter says.
func TestLostPickup(t *testing.T) {
	closed, open := params().ThrottleClosed, params().ThrottleOpen
	for name, c := range map[string]struct {
		change func(*Params)
		after  float64 // s
		width  float64
	}{
		"closes":           {func(*Params) {}, 0.35, closed},
		"closes slowly":    {func(p *Params) { p.LossFall = 4 }, 1.3, open - (open-closed)*(0.5+1.0/4)},
		"closed at last":   {func(p *Params) { p.LossFall = 4 }, 2.5, closed},
		"opens":            {func(p *Params) { p.LossFull = true }, 0.35, open},
		"leaves it be":     {func(p *Params) { p.LossOpen = true }, 2, (open + closed) / 2},
		"not yet, at that": {func(p *Params) { p.LossFull = true }, 0.28, (open + closed) / 2},
	} {
		t.Run(name, func(t *testing.T) {
			b := governing(t, c.change)
			b.pickup = nil
			require.InDelta(t, c.width, b.run(c.after), 0.012*(open-closed))
		})
	}
}
