package engage

import (
	"fmt"
	"math"
	"math/cmplx"

	"govrig/rig/measure"
	"govrig/rig/measure/sinefit"
)

// Kind is what the throttle does about a change of the played speed.
type Kind string

const (
	// Opposes: the throttle answers against the change, as a governor does.
	Opposes Kind = "opposes"
	// Follows: it answers the wrong way.
	Follows Kind = "follows"
	// Silent: no answer stands out of the scatter; see Least.
	Silent Kind = "silent"
	// Untold: the window cannot tell; see Why.
	Untold Kind = "cannot tell"
)

// Answer is what the throttle does about a change of the played speed.
type Answer struct {
	Kind Kind
	// Why explains Untold.
	Why string
	// Chance that scatter alone shows as much, 0 to 1.
	Chance float64
	// Gain is the size of the answer, throttle over speed in their units.
	Gain float64
	// Phase is how far the answer is ahead of a throttle that moves exactly
	// against the speed, degrees; an integral part makes it −90°. Of a sine
	// only.
	Phase float64
	// Least is the least gain that would have stood out.
	Least float64
}

// MostChance is the chance of a false alarm at which an answer counts.
const MostChance = 1e-3

// fewestPeriods is the least number of periods that tell scatter from answer.
const fewestPeriods = 4

// ToSine looks for the answer to a sine of so many hertz on the played speed.
// Its mean over the periods is held against its scatter from period to period:
// with k periods of independent scatter the ratio of the two is F-distributed
// with 2 and 2k−2 degrees of freedom. A swing of the throttle's own within one
// and a half over the length of the window of the frequency is no scatter:
// play another frequency where it hunts.
func ToSine(played, throttle measure.Series, frequency float64) Answer {
	in, err := phasors(played, frequency)
	if err != nil {
		return untold("the played speed: %v", err)
	}
	out, err := phasors(throttle, frequency)
	if err != nil {
		return untold("the throttle: %v", err)
	}
	k := min(len(in), len(out))
	if k < fewestPeriods {
		return untold("%d periods are too few to tell an answer from scatter", k)
	}
	mx, my := mean(in[:k]), mean(out[:k])
	if cmplx.Abs(mx) == 0 {
		return untold("the played speed does not swing at %.3g Hz", frequency)
	}
	scatter := 0.0
	for _, y := range out[:k] {
		scatter += real((y - my) * cmplx.Conj(y-my))
	}
	n, m := float64(k), float64(2*k-2)
	size := func(gain float64) float64 { return n * gain * gain / 2 / (scatter / m) }
	a := Answer{Gain: cmplx.Abs(my) / cmplx.Abs(mx), Phase: 180 / math.Pi * cmplx.Phase(-my/mx)}
	a.Chance = tail(size(cmplx.Abs(my)), m)
	a.Least = math.Sqrt(critical(m)*2*scatter/m/n) / cmplx.Abs(mx)
	if my == 0 || math.IsNaN(a.Chance) {
		a.Chance = 1
	}
	// Integral action lags by 90°, dead time by more; a derivative part leads.
	a.judge(a.Phase > -135 && a.Phase < 90)
	return a
}

func (a *Answer) judge(opposes bool) {
	switch {
	case a.Chance > MostChance:
		a.Kind = Silent
	case opposes:
		a.Kind = Opposes
	default:
		a.Kind = Follows
	}
}

// tail is the chance that a ratio F of 2 and m degrees of freedom is as large:
// (1 + 2F/m)^(−m/2), exactly.
func tail(f, m float64) float64 { return math.Pow(1+2*f/m, -m/2) }

// critical is the ratio with a tail of MostChance.
func critical(m float64) float64 { return m / 2 * (math.Pow(MostChance, -2/m) - 1) }

// phasors are the amplitudes of a sine in each whole period of a series, with
// the phase that it has at time 0, once the drift has been taken out: the
// straight lines from the mean of each period to that of the next, which a
// sine leaves alone.
func phasors(s measure.Series, frequency float64) (out []complex128, err error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	if !(frequency > 0) || s.Len() < 2 {
		return nil, fmt.Errorf("no window for %g Hz", frequency)
	}
	if g := s.Gaps(); len(g) > 0 {
		return nil, fmt.Errorf("no samples from %.3f s to %.3f s", g[0].From, g[0].To)
	}
	period := 1 / frequency
	var parts []measure.Series
	end := s.T[s.Len()-1] + s.Interval()
	for from := s.T[0]; from+period <= end+1e-9; from += period {
		parts = append(parts, s.Between(from, from+period))
	}
	for i, part := range parts {
		drift := 0.0
		if len(parts) > 1 {
			last, next := parts[max(0, i-1)], parts[min(len(parts)-1, i+1)]
			drift = (next.Mean() - last.Mean()) / (next.T[0] - last.T[0])
		}
		straight := measure.Series{T: part.T, Y: make([]float64, part.Len())}
		for n, y := range part.Y {
			straight.Y[n] = y - drift*(part.T[n]-part.T[0])
		}
		fit, err := sinefit.Three(straight, frequency)
		if err != nil {
			return nil, err
		}
		out = append(out, complex(fit.A, -fit.B))
	}
	return out, nil
}

func mean(z []complex128) (m complex128) {
	for _, v := range z {
		m += v / complex(float64(len(z)), 0)
	}
	return m
}

func untold(format string, args ...any) Answer {
	return Answer{Kind: Untold, Why: fmt.Sprintf(format, args...), Chance: 1}
}
