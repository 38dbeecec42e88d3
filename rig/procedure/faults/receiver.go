package faults

import (
	"math"
	"time"

	"govrig/rig/execution"
	"govrig/rig/phase"
)

// selects plays a select pulse beyond one end, -1 or 1, by a quarter of the way
// between the ends, or none, 0, until the engine is steady at what comes of it;
// then the right one again. The clock starts there.
func selects(name string, end float64) func(*faulting, *fault) (aftermath, error) {
	return func(f *faulting, x *fault) (s aftermath, err error) {
		part := f.recording()
		wrong := f.g.Phase(during(name), longestWrong)
		wrong.Select = 0
		if end != 0 {
			ends := f.g.Search()
			width := (ends.Low+ends.High)/2 + end*0.75*(ends.High-ends.Low)
			wrong.Select = execution.Seconds(math.Max(100e-6, math.Min(2.5e-3, width)))
		}
		if _, _, err = f.t.Play(f.calm(name)); err != nil {
			return s, err
		}
		if _, err = f.t.PlayUntil(wrong, arrived); err != nil {
			return s, err
		}
		if err = f.watch(x, name, &s, part); err != nil {
			return s, err
		}
		f.clock(&s, after(name))
		return s, nil
	}
}

const (
	// longestWrong and shortestWrong are for how long a select pulse is wrong, s.
	longestWrong, shortestWrong = 10.0, 2.0
	// arrivedWithin is how much the speed may still change in a second, a share.
	arrivedWithin = 0.003
)

// arrived reports whether the engine has come to where a wrong select pulse sends
// it.
func arrived(part execution.Trace) bool {
	n := len(part.Time)
	if n == 0 || part.Time[n-1]-part.Time[0] < shortestWrong {
		return false
	}
	low, high := part.EngineSpeed(0, n).Between(part.Time[n-1]-1, part.Time[n-1]+1).Extent()
	return high-low < arrivedWithin*high
}

// leads plays what comes of a stick line at another width, to the end: none where
// its lead is off. The select lead may be off, too.
func leads(name string, stick func(*faulting) time.Duration, both bool) func(*faulting, *fault) (aftermath, error) {
	return func(f *faulting, x *fault) (aftermath, error) {
		p := f.g.Phase(during(name), x.watched(f.own))
		p.Stick = stick(f)
		if both {
			p.Select = 0
		}
		return f.play(x, name, during(name), p)
	}
}

// failsafe plays a receiver that has lost its transmitter: for a moment no stick
// pulse comes, then its failsafe sets the stick. The clock starts there.
func failsafe(name string, stick func(*faulting) time.Duration) func(*faulting, *fault) (aftermath, error) {
	return func(f *faulting, x *fault) (aftermath, error) {
		gap, set := f.g.Phase(before("the failsafe"), gapTime), f.g.Phase(during(name), calmTime)
		if x.shuts {
			set = f.g.Phase(during(name), x.watched(f.own))
		}
		gap.Stick, set.Stick = 0, stick(f)
		return f.play(x, name, during(name), gap, set)
	}
}

// switchedOn switches the governor on with the stick up. At first the engine stands;
// then, as if it were started, it idles, and no governor may take it up before the
// stick has been low (common practice, no source: whoever starts the engine may
// have left the stick up). The clock starts with its first throttle pulse.
func (f *faulting) switchedOn(x *fault) (s aftermath, err error) {
	const name = "switched on, stick up"
	if err = f.standing(); err != nil {
		return s, err
	}
	g := f.g
	g.Orders.Stick = f.up()
	part := f.recording()
	quiet := g.Phase(before(name), calmTime)
	quiet.Mute = true
	if _, _, err = f.t.Play(quiet); err != nil {
		return s, err
	}
	done, err := f.restart(quiet)
	if err != nil || !done {
		return aftermath{why: whyNobody}, err
	}
	stands := g.Phase(during(name), shutWithin+offTime+margin)
	stands.Mute = true
	if _, _, err = f.t.Play(stands); err != nil {
		return s, err
	}
	f.t.Helicopter()
	runs := phase.Key{Kind: phase.After, Of: name}
	if _, _, err = f.t.Play(g.Phase(runs, margin)); err != nil {
		return s, err
	}
	s.part = part()
	f.awake(&s)
	from, _ := s.part.Span(runs)
	s.turns = s.part.Time[from]
	return s, nil
}
