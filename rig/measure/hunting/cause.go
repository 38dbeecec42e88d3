package hunting

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"

	"govrig/rig/measure"
	"govrig/rig/measure/describing"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/sinefit"
)

// Source is a kind of cause.
type Source string

const (
	// Margin: the loop is unstable, or nearly so.
	Margin Source = "loop margin too small"
	// Play: backlash or dead band between governor and throttle.
	Play Source = "backlash or dead band"
	// Resolution: the governor's output moves in steps too coarse to hold.
	Resolution Source = "output resolution"
	// Dropouts: the pickup loses pulses in step with the oscillation.
	Dropouts Source = "pickup dropouts"
)

// Cause is a likely cause with its evidence.
type Cause struct {
	Source Source
	// Weight of the evidence, 0 to 1.
	Weight float64
	Why    string
}

// Evidence is what the rig knows besides the speed itself. A zero is not
// known, and rules nothing in or out.
type Evidence struct {
	// Loop is governor times plant as a linear loop, known over Band.
	Loop loop.Response
	Band loop.Band
	// Plant is throttle to speed, in the units of the logs.
	Plant loop.Response
	// Throttle is the governor's output over the window.
	Throttle measure.Series
	// Gap is the total play between output and throttle, in its unit.
	Gap float64
	// Quantum is the step of the output, in its unit.
	Quantum float64
	// Lost are the moments at which the pickup lost pulses, s.
	Lost []float64
}

// least is the weight below which a cause is not named.
const least = 0.3

// Causes names the likely causes of hunting, the likeliest first. It is empty
// when the evidence points nowhere.
func Causes(f Finding, e Evidence) []Cause {
	if !f.Hunting() {
		return nil
	}
	swing := throttleSwing(f, e.Throttle)
	all := []Cause{
		lostPulses(f, e), coarse(f, e, swing), play(f, e, swing), small(f, e),
	}
	var named []Cause
	for _, c := range all {
		if c.Weight >= least {
			named = append(named, c)
		}
	}
	sort.SliceStable(named, func(i, j int) bool { return named[i].Weight > named[j].Weight })
	return named
}

// swing is how the throttle moves while the speed hunts.
type swing struct {
	amplitude float64 // of its fundamental
	reach     float64 // peak to peak
}

func throttleSwing(f Finding, throttle measure.Series) swing {
	s := throttle.Between(f.From, f.To)
	fit, err := sinefit.Three(s, f.Frequency)
	if err != nil {
		return swing{}
	}
	low, high := s.Extent()
	return swing{amplitude: fit.Amplitude(), reach: high - low}
}

// lostPulses asks whether losses come at the same phase of each swing. The
// chance that n losses at random agree by a mean phasor R is e^{−nR²}
// (Rayleigh's test of circular data, from memory).
func lostPulses(f Finding, e Evidence) Cause {
	var sum complex128
	n := 0.0
	for _, t := range e.Lost {
		if t >= f.From && t <= f.To {
			sum += cmplx.Rect(1, 2*math.Pi*f.Frequency*t)
			n++
		}
	}
	if n < 3 {
		return Cause{}
	}
	r := cmplx.Abs(sum) / n
	return Cause{
		Source: Dropouts, Weight: 1 - math.Exp(-n*r*r),
		Why: fmt.Sprintf("the pickup lost pulses %.0f times in the window, %.0f %% in step with the oscillation", n, 100*r),
	}
}

// coarse asks whether the throttle only steps to and fro between two or three
// of its values, and whether its fundamental makes the swing that was seen.
func coarse(f Finding, e Evidence, s swing) Cause {
	if e.Quantum <= 0 || s.reach <= 0 {
		return Cause{}
	}
	steps := s.reach / e.Quantum
	if steps > 2.5 {
		return Cause{}
	}
	c := Cause{Source: Resolution, Weight: 0.8,
		Why: fmt.Sprintf("the throttle moves to and fro by %.0f of its own steps of %.3g", math.Round(steps), e.Quantum)}
	if e.Plant != nil {
		want := s.amplitude * cmplx.Abs(e.Plant(2*math.Pi*f.Frequency))
		c.Weight = likeness(f.Amplitude, want, 0.5)
		c.Why += fmt.Sprintf(", which swings the speed by %.3g; %.3g was seen", want, f.Amplitude)
	}
	return c
}

// play compares what was seen with the cycle that a describing function
// predicts for the known gap.
func play(f Finding, e Evidence, s swing) Cause {
	if e.Gap <= 0 || e.Loop == nil || e.Plant == nil {
		return Cause{}
	}
	var best Cause
	n := describing.Backlash(e.Gap)
	cycles := describing.Cycles(describing.Loop(e.Loop), n, describing.Range{
		OmegaMin: e.Band.Min, OmegaMax: e.Band.Max,
		AmplitudeMin: 0.501 * e.Gap, AmplitudeMax: 200 * e.Gap,
	})
	for _, c := range cycles {
		if !c.Stable {
			continue
		}
		hz := c.Omega / (2 * math.Pi)
		speed := cmplx.Abs(n(c.Amplitude)*e.Plant(c.Omega)) * c.Amplitude
		w := likeness(f.Frequency, hz, 0.25) * likeness(f.Amplitude, speed, 0.5)
		if s.amplitude > 0 {
			w *= likeness(s.amplitude, c.Amplitude, 0.5)
		}
		if w > best.Weight {
			best = Cause{Source: Play, Weight: w, Why: fmt.Sprintf(
				"a play of %.3g is predicted to hunt at %.3g Hz by %.3g; %.3g Hz by %.3g was seen",
				e.Gap, hz, speed, f.Frequency, f.Amplitude)}
		}
	}
	return best
}

// small asks whether the linear loop has next to no margin, and would swing at
// the frequency that was seen.
func small(f Finding, e Evidence) Cause {
	if e.Loop == nil {
		return Cause{}
	}
	m, err := loop.MarginsOf(e.Loop, e.Band)
	if err != nil {
		return Cause{}
	}
	weight, words := 0.0, ""
	if m.Phase.OK() {
		weight = tight(m.Phase.Value, 5, 20) * near(f.Frequency, m.Crossover.Value/(2*math.Pi), m.Phase.Value < 0)
		words = fmt.Sprintf("phase margin %.3g° at %.3g Hz", m.Phase.Value, m.Crossover.Value/(2*math.Pi))
	}
	if m.Gain.OK() {
		db := loop.Decibels(m.Gain.Value)
		weight = math.Max(weight, tight(db, 1, 4)*near(f.Frequency, m.PhaseCrossover.Value/(2*math.Pi), db < 0))
		words += fmt.Sprintf(", gain margin %.3g dB at %.3g Hz", db, m.PhaseCrossover.Value/(2*math.Pi))
	}
	return Cause{Source: Margin, Weight: weight,
		Why: fmt.Sprintf("%s; the speed swings at %.3g Hz", words, f.Frequency)}
}

// near is how well a frequency fits the one that the linear loop says. An
// unstable loop swings until servo and throttle are at their ends, which slows
// it.
func near(seen, linear float64, unstable bool) float64 {
	if unstable && seen < linear {
		return likeness(seen, linear, 1)
	}
	return likeness(seen, linear, 0.4)
}

// tight is 1 for a margin of no more than little, and 0 from enough on.
func tight(margin, little, enough float64) float64 {
	return math.Max(0, math.Min(1, (enough-margin)/(enough-little)))
}

// likeness is 1 when two positive values agree and falls off with their ratio:
// to 0.6 at a factor of e^width.
func likeness(a, b, width float64) float64 {
	if !(a > 0) || !(b > 0) {
		return 0
	}
	x := math.Log(a/b) / width
	return math.Exp(-x * x / 2)
}
