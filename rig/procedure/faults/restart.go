package faults

import (
	"errors"
	"sort"

	"govrig/rig/execution"
	"govrig/rig/phase"
	"govrig/sim/standin/governor"
)

// restart switches the governor off and on: one with a Supply by itself, a real one by
// the person. ok is false when nobody is there to do it.
func (f *faulting) restart() (ok bool, err error) {
	if supply, ok := f.t.Bench.StandIn.(governor.Supply); ok {
		supply.Restart(offTime)
		return true, nil
	}
	answer, err := f.t.Ask(execution.Question{
		Key:     "governor_restart",
		Text:    "Switch the governor off, wait a second, and switch it on again. Done?",
		Answers: []string{"yes", "no"},
	}, f.g.Phase(phase.Of("governor off and on"), 0.1))
	if errors.Is(err, execution.ErrNotAsked) {
		return false, nil
	}
	return answer == "yes", err
}

// reset restarts the governor while it holds the speed under load. The clock
// starts when its throttle pulses come again.
func (f *faulting) reset() (aftermath, error) {
	const name = "governor reset"
	from := f.t.Run.Trace.Mark()
	calm := f.calm(name)
	if _, _, err := f.t.Play(calm); err != nil {
		return aftermath{}, err
	}
	done, err := f.restart()
	if err != nil {
		return aftermath{}, err
	}
	if !done {
		return aftermath{why: "nobody was there to switch the governor off and on"}, nil
	}
	if _, _, err = f.t.Play(f.g.Phase(during(name), longWatch)); err != nil {
		return aftermath{}, err
	}
	part := f.t.Run.Trace.Since(from)
	silence, end := longestSilence(&part)
	if silence < leastSilence {
		return aftermath{why: "the throttle pulses never stopped: the governor was not off"}, nil
	}
	event := sort.SearchFloat64s(part.Time, end) // times are yet to be calibrated
	part.Calibrate(f.t.Session)
	return aftermath{part: part, event: part.Time[min(event, len(part.Time)-1)], speed: steadyBefore(&part, calm.Key)}, nil
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
