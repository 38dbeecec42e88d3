package rig

import "govrig/sim"

// passes finds the moments at which a magnet passes the pickup, from the crank
// angle before and after each plant step.
type passes struct {
	spacing float64 // crank angle between two magnets, rad
	next    float64 // crank angle of the next pass
}

// step takes in one plant step of ticks, which began at tick start, and adds the
// moments, in ticks, of the passes in it.
func (p *passes) step(start, ticks int64, before, after *sim.State, rate float64, add func(moment float64)) {
	for after.CrankAngle >= p.next {
		share := sim.Crossing(before, after, p.next, float64(ticks)/rate)
		add(float64(start) + share*float64(ticks))
		p.next += p.spacing
	}
}

// passed holds the plant's newest passes by their number, from 0: half a second
// of them at 2,000 a second.
type passed struct {
	seen int // passes so far
	when [1024]float64
}

func (p *passed) add(moment float64) {
	p.when[p.seen%len(p.when)] = moment
	p.seen++
}

// at gives the moment of the pass of the given number; ok is false when it has
// not come yet, or is forgotten.
func (p *passed) at(number int) (moment float64, ok bool) {
	if number < 0 || number >= p.seen || number < p.seen-len(p.when) {
		return 0, false
	}
	return p.when[number%len(p.when)], true
}

// nearest gives the number of the pass nearest to a moment. come is false while
// the plant has not gone past that moment; ok is false when it is forgotten.
func (p *passed) nearest(moment float64) (number int, come, ok bool) {
	newest, any := p.at(p.seen - 1)
	if !any || newest < moment {
		return 0, false, false
	}
	for number = p.seen - 2; ; number-- {
		before, ok := p.at(number)
		if !ok {
			return 0, true, number < 0 // the first of all, or forgotten
		}
		if before > moment {
			continue
		}
		if after, _ := p.at(number + 1); after-moment < moment-before {
			number++
		}
		return number, true, true
	}
}
