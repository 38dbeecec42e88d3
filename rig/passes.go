package rig

import "govrig/sim"

// passes finds the moments at which a magnet passes the pickup, from the crank
// angle before and after each plant step.
type passes struct {
	spacing float64 // crank angle between two magnets, rad
	next    float64 // crank angle of the next pass
	seen    int     // passes found, all told
	when    [16]float64
}

// fork gives a copy that has seen nothing yet.
func (p *passes) fork() passes {
	return passes{spacing: p.spacing, next: p.next}
}

// newest gives the tick of a pass found, counted back from the newest.
func (p *passes) newest(back int) float64 {
	return p.when[(p.seen-1-back)%len(p.when)]
}

// kept is how many passes can still be asked for.
func (p *passes) kept() int { return min(p.seen, len(p.when)) }

// step takes in one plant step of ticks, which began at tick start.
func (p *passes) step(start, ticks int64, before, after *sim.State, rate float64) {
	for after.CrankAngle >= p.next {
		share := sim.Crossing(before, after, p.next, float64(ticks)/rate)
		p.when[p.seen%len(p.when)] = float64(start) + share*float64(ticks)
		p.seen++
		p.next += p.spacing
	}
}
