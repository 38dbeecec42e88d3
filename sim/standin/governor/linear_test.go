package governor

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
)

// answer is the response of a governor to a speed that sways by one sine, by
// synchronous correlation over whole periods.
func answer(t *testing.T, p Params, hertz float64) complex128 {
	const mean, sway = 14_000.0, 20.0 // rpm
	b := newBench(t, p)
	b.stick = (p.ThrottleClosed + p.ThrottleOpen) / 2
	angle := func(s float64) float64 { // turns
		return mean/60*s - sway/60/(2*math.Pi*hertz)*math.Cos(2*math.Pi*hertz*s)
	}
	b.run(0.1) // the stick passes through: the law begins there
	b.start(func(now int64) int64 {
		s, wanted := float64(now)/rate, angle(float64(now)/rate)+1
		for range 8 { // Newton
			s -= (angle(s) - wanted) / ((mean + sway*math.Sin(2*math.Pi*hertz*s)) / 60)
		}
		return int64(math.Round(s*rate)) - now
	})
	b.run(8)
	var sum complex128
	n := 0.0
	for i, rise := range b.rises {
		at := float64(rise) / rate
		if at < 3 || at >= 7 {
			continue
		}
		n++
		sum += complex(b.widths[i], 0) * cmplx.Rect(1, -2*math.Pi*hertz*at)
	}
	return sum * complex(0, 2/n) / complex(sway*perRPM, 0)
}

// The governor does what its equations say, at light and at heavy throttle, with the
// frames that a synchronous correlation sees: the hold and the pulse are not in it.
func TestResponse(t *testing.T) {
	base := params()
	base.OutputStep, base.SpeedStep, base.Gain, base.FrameRate = 0, 0, 0.0005, 72
	base.SpeedLow, base.SpeedHigh = 14_000*perRPM, 14_000*perRPM
	cases := map[string]func(p *Params){
		"as before":  func(*Params) {},
		"dead time":  func(p *Params) { p.DeadTime = 12e-3 },
		"turns":      func(p *Params) { p.DeadTime, p.DeadTurns = 4e-3, 2.5 },
		"lag":        func(p *Params) { p.DeadTime, p.MeasureLag = 8e-3, 20e-3 },
		"derivative": func(p *Params) { p.DeadTime, p.DerivativeTime, p.DerivativeLag = 9e-3, 60e-3, 15e-3 },
		"rise":       func(p *Params) { p.DeadTime, p.GainRise, p.FeedForward = 9e-3, 0.8, 0.3 },
	}
	for name, change := range cases {
		t.Run(name, func(t *testing.T) {
			p := base
			change(&p)
			for _, hertz := range []float64{0.5, 2, 7} {
				omega := 2 * math.Pi * hertz
				h := 1 / p.FrameRate
				g, width := answer(t, p, hertz), (p.ThrottleClosed+p.ThrottleOpen)/2
				want := p.Response(omega, 14_000*perRPM, width) / (complex(sinc(omega*h/2), 0) * cmplx.Rect(1, -omega*(h/2+width)))
				require.InDelta(t, 0, 20*math.Log10(cmplx.Abs(g/want)), 0.25, "%g Hz", hertz)
				require.InDelta(t, 0, cmplx.Phase(g/want)*180/math.Pi, 2, "%g Hz", hertz)
			}
		})
	}
}
