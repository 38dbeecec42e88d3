package hold

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
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
	// lookEvery is how many samples lie between two looks.
	lookEvery = 50
)

// holding is a hold under way.
type holding struct {
	t    *execution.Test
	g    *governed.Governor
	time float64 // s
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
	mark := t.Run.Trace.Mark()
	if err := h.steady(g.Phase(g.Key(phase.Steady), 0)); err != nil {
		return part, false, err
	}
	comes := g.Load(g.Key(phase.LoadComes), float64(load.CollectiveHigh), float64(load.Ramp), 0)
	if _, h.rested, err = g.Rest(t, comes, heavySettle); err != nil {
		return part, false, err
	}
	if err := h.steady(g.Phase(g.Key(phase.Heavy), 0)); err != nil {
		return part, false, err
	}
	part = t.Run.Trace.Since(mark)
	if err := h.lightAgain(&part); err != nil {
		return part, false, err
	}
	part = t.Run.Trace.Since(mark)
	part.Calibrate(t.Session)
	g.ReadSteady(t, &part)
	h.read(&part, &s)
	return part, true, nil
}

// lightAgain takes the load off again; where the speed has sagged under it, until the
// speed has come to rest.
func (h *holding) lightAgain(part *execution.Trace) (err error) {
	g := h.g
	load := g.Machine.LoadStep
	again := g.Load(g.Key(phase.LightAgain), float64(load.CollectiveLow), float64(load.Ramp), 1)
	h.back = measure.Missing("it was not waited for")
	if droop := g.Droop(h.mean(part, phase.Steady), h.mean(part, phase.Heavy)); !droop.OK() || droop.Value <= governed.DroopLimit(g.Setting) {
		_, _, err = h.t.Play(again)
		return err
	}
	rest, rested, err := g.Rest(h.t, again, heavySettle)
	if rested && err == nil {
		h.back = step.MeanSpeed(rest)
	}
	return err
}

// mean is the mean engine speed of a phase.
func (h *holding) mean(part *execution.Trace, kind phase.Kind) measure.Reading {
	from, to := part.Span(h.g.Key(kind))
	return step.MeanSpeed(part.EngineSpeed(from, to))
}

// steady plays a phase for its time, and goes on for twice as long, and again, while
// the speed wanders or whether it hunts cannot be told: a slow swing needs whole
// cycles. Each look may be a false alarm, so there are few.
func (h *holding) steady(p rig.Phase) error {
	p.Steps = execution.Steps(max(h.time, longest))
	next := h.time
	_, err := h.t.PlayUntil(p, func(part execution.Trace) bool {
		n := len(part.Time)
		if n%lookEvery != 0 || part.Time[n-1]-part.Time[0] < next {
			return false
		}
		next *= 2
		s := part.EngineSpeed(0, n)
		return !wanders(s, still*h.g.Declared()) && hunting.Detect(s, hunting.Config{}).Kind != hunting.Unknown
	})
	return err
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
