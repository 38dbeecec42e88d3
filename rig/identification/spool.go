package identification

import (
	"math"

	"govrig/rig/phase"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

const (
	// A speed that the governor leads up is straight from here to there, shares of
	// the final one, with the throttle off its ends.
	rampFrom, rampTo = 0.70, 0.93
	rampEnds         = 0.02 // share of throttle
	rampLeast        = 0.5  // s
	rampBent         = 0.15 // most that the slopes of its halves may differ, a share
)

// readSpool reads how fast the wanted speed rises: the speed follows it at that rate
// where the throttle is free to (the error of a loop with an integral to a ramp is
// constant; any control text-book). A speed that does not rise evenly tells nothing.
func (r *Result) readSpool(runs *kept, m *machine.Machine) error {
	run := runs.newest("spoolup")
	if run == nil {
		r.miss("spoolup", "how fast it goes to speed")
		return nil
	}
	all, err := stretches(run.Record, func(k phase.Key) bool { return k.Kind == phase.SpoolUp })
	if err != nil || len(all) == 0 {
		return err
	}
	s := all[len(all)-1]
	final := s.speed[len(s.speed)-1]
	closed, open := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	var time, speed []float64
	for i, v := range s.speed {
		share := (s.throttle[i] - closed) / (open - closed)
		switch {
		case v > rampTo*final && len(time) > 0:
			r.takeSpool(time, speed, run.Name())
			return nil
		case v < rampFrom*final:
			time, speed = nil, nil
		case share < rampEnds || share > 1-rampEnds:
			return nil
		default:
			time, speed = append(time, s.time[i]), append(speed, v)
		}
	}
	return nil
}

// takeSpool takes the slope of a ramp, where it is one.
func (r *Result) takeSpool(time, speed []float64, run string) {
	n := len(time)
	if n < 20 || time[n-1]-time[0] < rampLeast {
		return
	}
	slope, _ := line(time, speed)
	first, _ := line(time[:n/2], speed[:n/2])
	second, _ := line(time[n/2:], speed[n/2:])
	apart := math.Abs(first - second)
	if slope > 0 && apart < rampBent*slope {
		r.Model.Arming.Spool = model.Known[unit.Acceleration](slope, math.Max(apart/2, 0.005*slope), run)
	}
}
