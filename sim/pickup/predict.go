package pickup

import "math"

// Prediction is what a pickup gives, steady, over a turn of the shaft.
type Prediction struct {
	// PulsesPerRev is how often the output switches on in a turn, with a
	// typical part.
	PulsesPerRev int
	// Stuck is set when the output is on all the time.
	Stuck bool
	// Pulses are those of one period of the polarity pattern; the turn holds
	// PulsesPerRev of them.
	Pulses []Pulse
	// Width is the mean share of the turn that one pulse takes, 0 to 1.
	Width float64
	// WorstPulsesPerRev is the count with the part that needs most.
	WorstPulsesPerRev int
	// Peak and Trough are the largest and smallest field that the element
	// feels, in T, positive for a south pole at the branded face.
	Peak, Trough float64
	// Margin is the field there is over the field that the worst part needs:
	// for a latch, the smaller of both directions. Plan for 2 or more (common
	// practice, no source).
	Margin float64
}

// Predict works out the pulses. The error is that of Params.Validate.
func Predict(p Params) (Prediction, error) {
	if err := p.Validate(); err != nil {
		return Prediction{}, err
	}
	t := newTrace(p)
	pulses, stuck := p.Sensor.typical().pulses(t)
	worst, _ := p.Sensor.worst().pulses(t)
	high, low := t.peaks()
	out := Prediction{
		PulsesPerRev:      len(pulses) * p.repeats(),
		Stuck:             stuck,
		Pulses:            pulses,
		WorstPulsesPerRev: len(worst) * p.repeats(),
		Peak:              high,
		Trough:            low,
		Margin:            p.Sensor.margin(high, low),
	}
	for _, pulse := range pulses {
		out.Width += pulse.Width() / float64(len(pulses))
	}
	return out, nil
}

func (s Sensor) typical() trip {
	return trip{s.Kind, s.Operate.Typical, s.Release.Typical}
}

func (s Sensor) worst() trip {
	return trip{s.Kind, s.Operate.Worst, s.Release.Worst}
}

// margin is the field over what the worst part needs.
func (s Sensor) margin(high, low float64) float64 {
	operate := high / s.Operate.Worst
	switch s.Kind {
	case Latch:
		return math.Max(0, math.Min(operate, low/s.Release.Worst))
	case Omnipolar:
		return math.Max(high, -low) / s.Operate.Worst
	}
	return math.Max(0, operate)
}

const (
	smallestGap = 1e-4 // m, closer than anyone dares
	widestGap   = 0.05 // m, where no magnet of this size is felt
)

// LargestGap is the gap in m, up to 50 mm, at which the margin falls to 1, with
// everything else as in p; 0 if it is below 1 even at a tenth of a millimetre.
// The error is that of Params.Validate.
func LargestGap(p Params) (float64, error) {
	if err := p.Validate(); err != nil {
		return 0, err
	}
	enough := func(gap float64) bool {
		p.Gap = gap
		return p.Sensor.margin(newTrace(p).peaks()) >= 1
	}
	gap := widestGap
	for !enough(gap) { // come in from far away
		if gap *= 0.8; gap < smallestGap {
			return 0, nil
		}
	}
	return bisect(gap, gap/0.8, func(g float64) bool { return !enough(g) }), nil
}
