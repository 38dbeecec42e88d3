package accept

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
)

// tracks reports whether the governor knows of pulses at a speed: once it has opened
// the throttle at another and is taken there, the throttle does other than when the
// pulses stop on arriving, there or once the first speed is back.
func (a *acceptTest) tracks(from, turn float64) (bool, error) {
	if err := a.setUp(kind{low: a.low}, turn, a.top()); err != nil {
		return false, err
	}
	lost, err := a.course(from, turn, true)
	if err != nil {
		return false, err
	}
	there, err := a.course(from, turn, false)
	return differ(there, lost, a.stand.Frame), err
}

// stay is how long a course stays at a speed, in whole seconds, and comeBack how
// long it is watched after it, s.
const (
	stay     = 2.0
	comeBack = 1.0
	swaying  = 0.015 // share of the speed that it sways by meanwhile, at 1 Hz
)

// moment is a throttle pulse at a time, s, since a course arrived.
type moment struct{ time, share float64 }

// course opens the throttle at one speed, goes to another, where the pulses may
// stop, and comes back.
func (a *acceptTest) course(from, turn float64, stops bool) (all []moment, err error) {
	if _, err := a.openWide(from, wide, 5); err != nil {
		return nil, err
	}
	phases := a.stand.Change(a.up, turn, stay)
	there := &phases[len(phases)-1]
	there.Mute = stops
	there.Sway = []rig.Sine{{Amplitude: swaying * turn, Frequency: 1 / float64(execution.Steps(1))}}
	key := there.Key
	key.Number = 1
	there.Key = key
	back := a.stand.Change(a.up, from, comeBack)
	back[0].Mute = stops
	part, _, err := a.t.Play(append(phases, back...)...)
	if err != nil {
		return nil, err
	}
	at, _ := part.Span(key)
	for _, p := range part.Pulses {
		if p.Start > part.Time[at] {
			all = append(all, moment{p.Start - part.Time[at], a.stand.Share(p.Width)})
		}
	}
	return all, nil
}

// differ reports whether two courses of the throttle differ clearly for some frames
// in a row.
func differ(a, b []moment, frame float64) bool {
	row, last := 0, math.Inf(-1)
	for len(a) > 0 && len(b) > 0 {
		now := max(a[0].time, b[0].time)
		for len(a) > 1 && a[1].time <= now {
			a = a[1:]
		}
		for len(b) > 1 && b[1].time <= now {
			b = b[1:]
		}
		if now-last > frame/2 {
			last = now
			if math.Abs(a[0].share-b[0].share) <= openloop.Clearly {
				row = 0
			} else if row++; row == openloop.Confirmed {
				return true
			}
		}
		a, b = a[1:], b[1:]
	}
	return false
}
