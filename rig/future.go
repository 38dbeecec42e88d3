package rig

import "govrig/sim"

// future is a copy of the plant that runs ahead, under what the script orders and
// what the throttle is foreseen to do. It goes on from frame to frame for as long as
// the plant comes after it in the very same steps; another throttle or another script
// make it begin anew from where the plant is.
type future struct {
	plant    sim.Plant
	holds    bool  // the plant goes this way
	step     int64 // plant steps done
	throttle forecast
	at       cursor    // at step
	state    sim.State // there, as it is played
	passes   passes
	found    []foundPass // that the plant has not come to, in order
}

// foundPass is a pass of a magnet, in the step after so many.
type foundPass struct {
	step   int64
	moment float64 // ticks
}

// meet has the future begin where the plant is, unless the plant came this way.
func (f *future) meet(l *Loop) {
	throttle := l.throttle.forecast(l.now)
	if f.holds && f.step >= l.step && f.throttle == throttle {
		n := 0
		for n < len(f.found) && f.found[n].step < l.step {
			n++
		}
		f.found = f.found[:copy(f.found, f.found[n:])]
		return
	}
	f.plant.Set(l.setup.Plant)
	f.holds, f.step, f.throttle = true, l.step, throttle
	f.at, f.passes, f.found = l.at, l.passes, f.found[:0]
	f.state = l.setup.Plant.State()
	f.at.swayed(&l.script, f.step, &f.state)
}

// pass gives the n-th pass to come, from 0; ok is false where it does not come
// before the step limit.
func (f *future) pass(l *Loop, n int, limit int64) (moment float64, ok bool) {
	for ; n >= len(f.found) && f.step < limit; f.step++ {
		start := l.origin + f.step*l.setup.StepTicks
		f.plant.Step(l.input(&f.at, f.step, f.throttle.at(start)))
		after := f.plant.State()
		f.at.swayed(&l.script, f.step+1, &after)
		f.passes.step(start, l.setup.StepTicks, &f.state, &after, l.setup.TickRate, func(moment float64) {
			f.found = append(f.found, foundPass{f.step, moment})
		})
		f.state = after
	}
	if n >= len(f.found) || f.found[n].step >= limit {
		return 0, false
	}
	return f.found[n].moment, true
}
