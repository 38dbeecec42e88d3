package gallery

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
)

// answer is the complex gain of the throttle pulse, s, to a sine on the engine
// speed, by Fourier integral over whole periods. A pulse counts from its end to
// the end of the next.
func answer(t *testing.T, m Member, w Wiring, hertz float64) (h complex128, pulse float64) {
	const periods = 8
	l := newLead(m, w)
	truth := truthOf(m, w, middle(w))
	still := middle(w) / truth.Reads
	begin := 3 + math.Ceil(2*hertz)/hertz
	amplitude := 0.002 * still
	l.speed = func(s float64) float64 { return still + amplitude*math.Sin(2*math.Pi*hertz*s) }
	l.play(0.3)
	l.stick = 0.3 // that is where it begins from
	l.play(0.2)
	l.stick = 0.45
	l.play(begin - 0.5)
	l.forget()
	l.play(periods/hertz + 0.5)
	var sum complex128
	end := begin + periods/hertz
	mean, last := 0.0, math.NaN()
	for i := range l.widths {
		at := float64(l.rises[i]+l.widths[i]) / tickRate
		if l.widths[i] == 0 || at > end+0.2 {
			continue
		}
		if !math.IsNaN(last) {
			sum += piece(last, at, begin+0.1, end+0.1, mean, hertz)
		}
		last, mean = at, float64(l.widths[i])/tickRate
		pulse = mean
	}
	return sum * complex(0, 2/(amplitude*periods/hertz)), pulse
}

// piece is the integral of a value times e^{−jωt} from a to b, cut to within from
// and to.
func piece(a, b, from, to, value, hertz float64) complex128 {
	a, b = math.Max(a, from), math.Min(b, to)
	if a >= b {
		return 0
	}
	omega := 2 * math.Pi * hertz
	return complex(value, 0) * (cmplx.Rect(1, -omega*b) - cmplx.Rect(1, -omega*a)) / complex(0, -omega)
}

// The response of every member that has one is what it does to a sine of 0.2 % of
// the speed: within 0.2 dB and 1.5°. A frame that is not a whole part of the period
// leaves that much over so few periods.
func TestResponseIsWhatASineShows(t *testing.T) {
	w := WiringOf(medium(t), tickRate)
	for _, m := range Members() {
		truth := truthOf(m, w, middle(w))
		if !truth.Linear || !truth.Hears || truth.Select != Straight || truth.Jitter > 0 || truth.Kind == ArmsHigh || truth.Kind == CountsDouble {
			continue
		}
		for _, hertz := range []float64{0.7, 2.3, 4.1} {
			got, pulse := answer(t, m, w, hertz)
			want, ok := m.New(w, 0).Response(2*math.Pi*hertz, middle(w)/truth.Reads, pulse)
			require.True(t, ok)
			ratio := got / want
			t.Logf("%-14s %.1f Hz  %+.2f dB  %+.1f°", m.Name, hertz, 20*math.Log10(cmplx.Abs(ratio)), cmplx.Phase(ratio)*180/math.Pi)
			require.InDelta(t, 0, 20*math.Log10(cmplx.Abs(ratio)), 0.2, "%s at %g Hz", m.Name, hertz)
			require.InDelta(t, 0, cmplx.Phase(ratio)*180/math.Pi, 1.5, "%s at %g Hz", m.Name, hertz)
		}
	}
}
