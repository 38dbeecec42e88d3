package hunting

import (
	"math"
	"sort"

	"govrig/rig/measure"
	"govrig/rig/measure/engage"
	"govrig/rig/measure/sinefit"
)

// Source is a kind of cause.
type Source string

const (
	// Margin: the gain of the loop is too high for it, as measured.
	Margin Source = "loop margin too small"
	// Late: the loop would have margin enough but for the delay of frames and
	// governor.
	Late Source = "slow frames or delay"
	// Play: backlash or dead band between governor and throttle.
	Play Source = "backlash or dead band"
	// Resolution: the governor's output moves in steps too coarse to hold.
	Resolution Source = "output resolution"
	// WindUp: the throttle stands at its ends, and the integral runs on.
	WindUp Source = "saturation and wind-up"
	// Dropouts: the pickup loses pulses in step with the oscillation.
	Dropouts Source = "pickup dropouts"
	// Roughness: the engine by itself, uneven from stroke to stroke; it is no
	// hunting.
	Roughness Source = "engine roughness"
)

// Verdict is what the evidence says of one cause.
type Verdict string

const (
	// Likely: the evidence points to it.
	Likely Verdict = "likely"
	// Unlikely: the evidence speaks against it.
	Unlikely Verdict = "unlikely"
	// Untold: there is no evidence to tell by.
	Untold Verdict = "cannot tell"
)

// Cause is one cause with the verdict on it and the numbers that it rests on;
// those that a cause does not need are missing.
type Cause struct {
	Source  Source
	Verdict Verdict
	// Weight of the evidence, 0 to 1.
	Weight float64
	Evidence
}

// least is the weight from which on a cause is likely.
const least = 0.3

// Causes judges every cause of hunting by what is known, the likeliest first.
// It is empty when the speed neither hunts nor is rough.
func Causes(f Finding, k Known) []Cause {
	s := throttleSwing(f, k)
	var all []Cause
	switch {
	case f.Hunting():
		m := marginsOf(k)
		all = []Cause{
			lostPulses(f, k), coarse(f, k, s), play(f, k, s), small(f, m), late(f, k, m), windUp(k, m, s),
		}
	case f.Kind == Noise:
		all = []Cause{rough(f, k, s)}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].rank() > all[j].rank() })
	return all
}

// rank orders verdicts: likely by weight, then what cannot be told.
func (c Cause) rank() float64 {
	return map[Verdict]float64{Likely: 2, Untold: 1, Unlikely: 0}[c.Verdict] + c.Weight/2
}

// weighed turns the weight of evidence into a verdict.
func weighed(s Source, weight float64, e Evidence) Cause {
	c := Cause{Source: s, Verdict: Unlikely, Weight: weight, Evidence: e.missing()}
	if weight >= least {
		c.Verdict = Likely
	}
	return c
}

// untold is the verdict without evidence.
func untold(s Source) Cause { return Cause{Source: s, Verdict: Untold, Evidence: Evidence{}.missing()} }

// missing marks the numbers that were not set; one that may be 0 has a detail.
func (e Evidence) missing() Evidence {
	for _, r := range []*measure.Reading{&e.Frequency, &e.Amplitude, &e.Phase, &e.Gain, &e.Turned, &e.Steps,
		&e.AtEnds, &e.Lost, &e.InStep, &e.Change, &e.Share} {
		if r.Value == 0 && r.Why == "" && r.Detail == "" {
			*r = measure.Missing("no part of this evidence")
		}
	}
	return e
}

// swing is how the throttle moves while the speed swings.
type swing struct {
	amplitude float64 // of its fundamental
	reach     float64 // peak to peak
	atEnds    float64 // share of the time
	ok        bool
}

func throttleSwing(f Finding, k Known) swing {
	s := k.Throttle.Between(f.From, f.To)
	amplitude, ok := stretchwise(s, f.Frequency)
	if !ok {
		return swing{}
	}
	low, high := s.Extent()
	out := swing{amplitude: amplitude, reach: high - low, ok: true}
	if k.High != k.Low {
		e := engage.EndsOf(s.Y, k.Low, k.High, 0.01*math.Abs(k.High-k.Low))
		out.atEnds = e.Low + e.High
	}
	return out
}

// stretchCycles make a stretch over which the phase of a swing does not wander.
const stretchCycles = 3

// stretchwise is the amplitude of a sine in stretches of a few cycles, their mean:
// over the whole window a phase that wanders would take some of it away.
func stretchwise(s measure.Series, frequency float64) (amplitude float64, ok bool) {
	n := max(1, int(s.Span()*frequency/stretchCycles))
	for i := range n {
		part := measure.Series{T: s.T[i*s.Len()/n : (i+1)*s.Len()/n], Y: s.Y[i*s.Len()/n : (i+1)*s.Len()/n]}
		fit, err := sinefit.Three(part, frequency)
		if err != nil {
			return 0, false
		}
		amplitude += fit.Amplitude() / float64(n)
	}
	return amplitude, true
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
