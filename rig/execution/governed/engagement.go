package governed

import (
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// The change of the played speed that shows whether a governor governs: a sine,
// small at first, larger where nothing answers it, as in a dead band.
const (
	changeFrequency = 1.0 // Hz
	changePeriods   = 6   // the first of them not looked at
)

var changeSizes = []float64{0.004, 0.012, 0.04} // shares of the speed, amplitude

// Engaged plays small known changes of speed and reports whether the governor
// answers them. It leaves all other orders as they stand.
func (g *Governor) Engaged(t *execution.Test) (e finding.Engagement, err error) {
	g.DeadBand = 0
	for i, size := range changeSizes {
		deaf := i > 0 && e.Verdict == finding.No // to the size before
		if e, err = g.engaged(t, size, i+1); err != nil || e.Verdict == finding.Yes || e.Ends.Saturated() {
			if deaf && e.Verdict == finding.Yes {
				g.DeadBand = changeSizes[i-1]
			}
			break
		}
	}
	g.Engagement = e
	return e, err
}

func (g *Governor) engaged(t *execution.Test, size float64, number int) (finding.Engagement, error) {
	key := g.Key(phase.Change)
	key.Number = number
	change := g.Phase(key, changePeriods/changeFrequency)
	change.Sway = []rig.Sine{{Amplitude: size * g.Engine(), Frequency: changeFrequency / float64(execution.Steps(1))}}
	after := g.Phase(phase.Of(phase.After), 0.2) // the end of the change is known ahead, too
	part, _, err := t.Play(change, after)
	if err != nil {
		return finding.Engagement{}, err
	}
	from, to := part.Span(key)
	start := part.Time[from] + 1/changeFrequency
	played := part.PlayedSpeed(from, to).Between(start, part.Time[to-1]+1)
	throttle := measure.Series{T: part.Time[from:to], Y: g.Shares(part.Throttle[from:to])}
	return finding.Engaged(played, throttle.Between(start, part.Time[to-1]+1), changeFrequency), nil
}

// Shares are throttle pulses, µs, as shares of the way from closed to open.
func (g *Governor) Shares(pulses []float64) []float64 {
	shares := make([]float64, len(pulses))
	for i, p := range pulses {
		shares[i] = g.Travel(p)
	}
	return shares
}

// EngagedMeasure declares whether the governor governs at all.
func EngagedMeasure() measure.Declaration {
	return measure.Declaration{
		Name: engaged, Unit: "1", Limit: measure.AtLeast(1),
		Meaning:    "Whether the governor governs: 1 when its throttle answers a small known change of the engine's speed against its sense, 0 when it does not.",
		Convention: "a sine of 1 Hz on the played speed, 0.4 % of it or more; chance of scatter alone below 1 in 1000",
	}
}

const engaged = "governor_engaged"

// TakeEngaged takes that measure, as last looked at.
func (g *Governor) TakeEngaged(t *execution.Test) {
	switch e := g.Engagement; e.Verdict {
	case finding.Yes:
		t.Sheet.Set(engaged, 1)
	case finding.No:
		t.Sheet.Set(engaged, 0, e.Why)
	default:
		t.Sheet.NotRun(engaged, "it cannot be told: "+e.Why)
	}
}
