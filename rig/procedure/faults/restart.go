package faults

import (
	"errors"
	"slices"
	"sort"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/sim/standin/governor"
)

// whyNobody is why a fault of the supply was not done.
const whyNobody = "nobody was there to switch the governor off and on"

// restart switches the governor off and on: one with a Supply by itself, a real one by
// the person, during which the given phase goes on. ok is false when nobody is there
// to do it.
func (f *faulting) restart(meanwhile rig.Phase) (ok bool, err error) {
	if supply, ok := f.t.Bench.StandIn.(governor.Supply); ok {
		supply.Restart(offTime)
		return true, nil
	}
	answer, err := f.t.Ask(execution.Question{
		Key:     "governor_restart",
		Text:    "Switch the governor off, wait a second, and switch it on again. Done?",
		Answers: []string{"yes", "no"},
	}, meanwhile)
	if errors.Is(err, execution.ErrNotAsked) {
		return false, nil
	}
	return answer == "yes", err
}

// reset restarts the governor while it holds the speed under load. The clock
// starts when its throttle pulses come again.
func (f *faulting) reset(x *fault) (s aftermath, err error) {
	const name = "governor reset"
	part, calm := f.recording(), f.calm(name)
	if _, _, err = f.t.Play(calm); err != nil {
		return s, err
	}
	done, err := f.restart(calm)
	if err != nil || !done {
		return aftermath{why: whyNobody}, err
	}
	if _, _, err = f.t.Play(f.g.Phase(during(name), 2*offTime)); err != nil {
		return s, err
	}
	if err = f.watch(x, name, &s, part); err != nil {
		return s, err
	}
	f.awake(&s)
	return s, nil
}

// awake starts the clock when throttle pulses come again after a restart.
func (f *faulting) awake(s *aftermath) {
	silence, end := longestSilence(&s.part)
	if silence < leastSilence {
		s.why = "the throttle pulses never stopped: the governor was not off"
		return
	}
	event := sort.SearchFloat64s(s.part.Time, end) // times are yet to be calibrated
	s.part.Throttle = carried(s.part.Throttle)
	s.part.Calibrate(f.t.Session)
	s.event = s.part.Time[min(event, len(s.part.Time)-1)]
}

// carried is a throttle that stands where its last pulse put it, also while a new loop
// has seen none yet.
func carried(pulses []float64) []float64 {
	pulses = slices.Clone(pulses)
	for i, p := range pulses {
		if i > 0 && p == 0 {
			pulses[i] = pulses[i-1]
		}
	}
	return pulses
}

// leastSilence is how long throttle pulses have to stay away for the governor
// to have been off, s: several of the slowest frames.
const leastSilence = 0.15

// longestSilence is the longest time between two throttle pulses, s, and when
// it ended.
func longestSilence(part *execution.Trace) (longest, end float64) {
	for i := 1; i < len(part.Pulses); i++ {
		if apart := part.Pulses[i].Start - part.Pulses[i-1].Start; apart > longest {
			longest, end = apart, part.Pulses[i].Start
		}
	}
	return longest, end
}
