package hold

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

const (
	// heavySettle is how long the heavy load settles at least before it is read, s.
	heavySettle = 4.0
	// longest is how long a steady phase is gone on with at most, s: five cycles
	// of the slowest swing that is looked for.
	longest = 52.0
	// still is how far the means of whole seconds may lie apart, share of the
	// wanted speed, for the phase to end at its time.
	still = 0.002
)

// holding is a hold under way.
type holding struct {
	t    *execution.Test
	g    *governed.Governor
	time float64 // s
	// most is how fast the head turned at most at the setting, rpm.
	most float64
	// rested: under the heavy load the speed had come to rest.
	rested bool
	// back is the speed at rest after the heavy load, where it sagged under that.
	back measure.Reading
	// swings are those that hunt.
	swings []governed.Swing
}

// setting measures one setting. held is false when the governor does not hold it;
// part then shows what it does.
func (h *holding) setting() (part execution.Trace, held bool, err error) {
	g, t := h.g, h.t
	s, part, held, err := g.Seek(t)
	if !held || err != nil {
		return part, held, err
	}
	load := g.Machine.LoadStep
	h.most = 0
	light, err := h.steady(phase.Steady)
	if err != nil {
		return part, false, err
	}
	mark := t.Run.Trace.Mark()
	comes := g.Load(g.Key(phase.LoadComes), float64(load.CollectiveHigh), float64(load.Ramp), 0)
	if _, h.rested, err = g.Rest(t, comes, heavySettle); err != nil {
		return part, false, err
	}
	h.saw(t.Run.Trace.Since(mark))
	heavy, err := h.steady(phase.Heavy)
	if err != nil {
		return part, false, err
	}
	last, err := h.lightAgain(light, heavy)
	if err != nil {
		return part, false, err
	}
	g.TakeSteady(t, &light.speed, &light.head)
	h.read(light, heavy, &s)
	t.Run.Views = append(t.Run.Views, viewOf(g, light, last.Time[len(last.Time)-1]))
	return part, true, nil
}

// lightAgain takes the load off again; where the speed has sagged under it, until the
// speed has come to rest.
func (h *holding) lightAgain(light, heavy steady) (last execution.Trace, err error) {
	g, t := h.g, h.t
	load := g.Machine.LoadStep
	again := g.Load(g.Key(phase.LightAgain), float64(load.CollectiveLow), float64(load.Ramp), 1)
	h.back = measure.Missing("it was not waited for")
	mark := t.Run.Trace.Mark()
	if droop := g.Droop(light.speed.Mean(), heavy.speed.Mean()); !droop.OK() || droop.Value <= governed.DroopLimit(g.Setting) {
		_, _, err = t.Play(again)
	} else {
		rest, rested, failed := g.Rest(t, again, heavySettle)
		if err = failed; rested && err == nil {
			h.back = step.MeanSpeed(rest)
		}
	}
	if err != nil {
		return last, err
	}
	last = t.Run.Trace.Since(mark)
	last.Calibrate(t.Session)
	h.saw(last)
	return last, nil
}

// saw takes in how fast the head turned in a part.
func (h *holding) saw(part execution.Trace) {
	_, most := part.HeadSpeed(0, len(part.Time)).Extent()
	h.most = math.Max(h.most, most)
}

// wanders reports whether the means of the last whole seconds, up to ten, lie
// farther apart than within.
func wanders(s measure.Series, within float64) bool {
	end := s.T[s.Len()-1]
	low, high := math.Inf(1), math.Inf(-1)
	for back := 1.0; back <= math.Min(10, end-s.T[0]); back++ {
		mean := s.Between(end-back, end-back+1).Mean()
		low, high = math.Min(low, mean), math.Max(high, mean)
	}
	return high-low > within
}
