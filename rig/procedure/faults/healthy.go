package faults

import (
	"math"
	"sort"

	"govrig/rig/execution"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// half is how far the speed may be off and still be held, rpm: with a dead band as far
// as the change that was answered.
func (f *faulting) half() float64 {
	half := math.Max(heldWithin*f.g.Declared(), math.Min(2*f.wander, widest*f.g.Declared()))
	if f.deaf {
		half = math.Max(half, changeSizes[len(changeSizes)-1]*f.g.Declared())
	}
	return half
}

// closed reports whether a throttle pulse, µs, is at or below the idle opening.
func (f *faulting) closed(pulse float64) bool { return f.g.Travel(pulse) <= f.idle+closedWithin }

// fit reports whether the set speed was held over samples from..to, with the
// throttle off both ends.
func (f *faulting) fit(part *execution.Trace, from, to int) bool {
	for i := from; i < to; i++ {
		off := !f.closed(part.Throttle[i]) && f.g.Travel(part.Throttle[i]) < 1-closedWithin
		if !off || math.Abs(part.Speed[i]-f.set) > f.half() {
			return false
		}
	}
	return to > from
}

// lately reports whether that was so over the last seconds of a part that is at
// least as long.
func (f *faulting) lately(part *execution.Trace, time float64) bool {
	n := len(part.Time)
	if n == 0 || part.Time[n-1]-part.Time[0] < time-0.01 {
		return false
	}
	return f.fit(part, sort.SearchFloat64s(part.Time, part.Time[n-1]-time), n)
}

// first brings the heavy load on for the first time, and notes what the governor
// holds then. ok is false where it holds nothing that faults can be judged from.
func (f *faulting) first() (ok bool, err error) {
	g := f.g
	f.idle = f.idleOpening()
	high := float64(g.Machine.LoadStep.CollectiveHigh)
	p := g.Load(phase.Of(phase.Heavy), high, float64(g.Machine.LoadStep.Ramp), 0)
	mark := f.t.Run.Trace.Mark()
	held, rested, err := g.Rest(f.t, p, 0)
	if err != nil || !rested {
		return false, err
	}
	if f.holding(held); f.wander > wandering*f.set {
		longer, _, err := f.t.Play(g.Phase(phase.Of(phase.Heavy), wanderTime))
		if err != nil {
			return false, err
		}
		f.holding(longer.EngineSpeed(0, len(longer.Time)))
	}
	f.own = f.spool + f.lastOff(f.t.Run.Trace.Since(mark))
	if off := f.set/g.Declared() - 1; off < -nearWanted || off > aboveWanted {
		return false, nil
	}
	return f.healthy(false)
}

// holding notes what is held, by a stretch of it: the middle, so that a slow wandering
// counts as far either way.
func (f *faulting) holding(held measure.Series) {
	low, high := held.Extent()
	f.set, f.wander = held.Mean(), (high-low)/2
	if f.wander > wandering*f.set {
		f.set = (low + high) / 2
	}
}

// lastOff is when in a part the speed was last off the set one, s from its start.
func (f *faulting) lastOff(part execution.Trace) float64 {
	n := len(part.Time)
	at := since(0, n, func(i int) bool { return math.Abs(part.Speed[i]-f.set) <= f.half() })
	return part.Time[min(at, n-1)] - part.Time[0]
}

// idleOpening is where the throttle stood with the stick low, a share of its
// travel.
func (f *faulting) idleOpening() (share float64) {
	trace := &f.t.Run.Trace
	for i, p := range trace.Phase {
		if trace.Phases[p].Kind == phase.Idle && trace.Throttle[i] > 0 {
			share = f.g.Travel(trace.Throttle[i])
		}
	}
	return math.Max(0, math.Min(share, mostIdle))
}

// healthy waits for the set speed under heavy load with the throttle off its ends,
// and looks whether the throttle answers, unless that was just shown.
func (f *faulting) healthy(shown bool) (ok bool, err error) {
	g := f.g
	p := g.Load(phase.Of(phase.Heavy), float64(g.Machine.LoadStep.CollectiveHigh), float64(g.Machine.LoadStep.Ramp), readyLimit)
	part, err := f.t.PlayUntil(p, func(part execution.Trace) bool { return f.lately(&part, steadyTime) })
	if err != nil || !f.lately(&part, steadyTime) {
		return false, err
	}
	if shown {
		return true, nil
	}
	answer, err := f.answers()
	if err != nil || answer.Verdict != finding.Yes {
		return false, err
	}
	p = g.Phase(phase.Of(phase.Heavy), readyLimit)
	part, err = f.t.PlayUntil(p, func(part execution.Trace) bool { return f.lately(&part, calmTime) })
	return f.lately(&part, calmTime), err
}
