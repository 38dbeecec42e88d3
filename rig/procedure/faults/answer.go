package faults

import (
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// The small known changes of the played speed that the throttle has to answer.
const (
	changeFrequency = 2.0 // Hz
	changePeriods   = 6   // the first of them not looked at
)

var changeSizes = []float64{0.01, 0.03} // shares of the speed

// answers finds out whether the throttle answers small known changes of speed, and
// whether only the larger ones, as with a dead band.
func (f *faulting) answers() (e finding.Engagement, err error) {
	silent := false
	for _, size := range changeSizes {
		if e, err = f.answersTo(size); err != nil {
			return e, err
		}
		if e.Verdict == finding.Yes {
			f.deaf = f.deaf || silent
			break
		}
		silent = true
	}
	return e, nil
}

func (f *faulting) answersTo(size float64) (e finding.Engagement, err error) {
	g := f.g
	change := g.Phase(phase.Of(phase.Change), changePeriods/changeFrequency)
	change.Sway = []rig.Sine{{Amplitude: size * g.Engine(), Frequency: changeFrequency / float64(execution.Steps(1))}}
	part, _, err := f.t.Play(change, g.Phase(phase.Of("change over"), 0.1))
	if err != nil {
		return e, err
	}
	from, to := part.Span(change.Key)
	start, end := part.Time[from]+1/changeFrequency, part.Time[to-1]+1
	throttle := measure.Series{T: part.Time[from:to], Y: g.Shares(part.Throttle[from:to])}
	return finding.Engaged(part.PlayedSpeed(from, to).Between(start, end), throttle.Between(start, end), changeFrequency), nil
}
