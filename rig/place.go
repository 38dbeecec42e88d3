package rig

import (
	"math"

	"govrig/protocol"
)

// fractions is how many parts of a tick a drive's spacing is told in.
const fractions = 256

// horizon is how many of the coming passes are looked at, most.
const horizon = 192

// slide is the time constant, s, in which pulses that were played elsewhere than
// the plant passed, for want of news, come back to it. A governor looks at the
// time between pulses: all at once would be an error of just that.
const slide = 0.1

// train are edges whose spacing changes by the same from each to the next, in
// ticks.
type train struct {
	number                int // of the plant's pass that the first goes with
	first, period, change float64
}

// at gives the edge that goes with a pass.
func (t *train) at(number int) float64 {
	n := float64(number - t.number)
	return t.first + n*t.period + n*(n-1)/2*t.change
}

// shift moves the edge that goes with a pass by so much, and the further ones by
// a share less each.
func (t *train) shift(number int, by, share float64) {
	t.first += by + float64(number-t.number)*by*share
	t.period -= by * share
}

// order puts the train in a drive, as exactly as that can say it, and keeps what
// the drive says.
func (t *train) order(d *protocol.Drive) {
	t.first, t.period = math.Round(t.first), math.Round(t.period*fractions)/fractions
	t.change = math.Round(math.Max(-1<<23, math.Min(1<<23-1, t.change*fractions))) / fractions
	d.EdgeTicks = uint32(int64(t.first))
	period := int64(t.period * fractions)
	d.PeriodTicks, d.PeriodFraction = uint32(period/fractions), uint8(period%fractions)
	d.ChangeFraction = uint32(int32(t.change*fractions)) & 0xFFFFFF
	d.Flags |= protocol.DrivePlay
}

// coming are the next passes of a magnet, in ticks, that are to be played.
type coming struct {
	when   [horizon]float64
	n      int
	number int // of the first

	earliest    float64 // no earlier ones
	from, until float64 // between which the board will play by what is made of them
}

func (c *coming) add(moment float64) {
	switch {
	case moment < c.earliest:
		c.number++
	case c.n < len(c.when):
		c.when[c.n] = moment
		c.n++
	}
}

// first is how many of them lie before a moment.
func (c *coming) first(moment float64) int {
	n := 0
	for n < c.n && c.when[n] < moment {
		n++
	}
	return n
}

// place tells the board when the next magnets pass, found by running a copy of
// the plant ahead; a play begins with one that is not too near. Where the engine
// turns too slowly for that to be soon, no pulses are played.
func (l *Loop) place(d *protocol.Drive) {
	if l.answers.delay == 0 {
		return // how old news will be is not known yet
	}
	if !l.playing {
		start := math.Max(startTime*l.setup.TickRate, l.answers.oldest)
		l.earliest = float64(l.now) + start
	}
	l.lookAhead()
	if l.coming.n < 2 {
		return
	}
	t := l.coming.train()
	if !l.playing {
		l.begun, l.sure.number = t.number, -1
	}
	l.goOn(&t, t.number+l.coming.first(l.coming.from)-1)
	t.order(d)
	l.ordered[l.sequence] = t
}

// sure is the newest edge that a drive cannot move any more.
type sure struct {
	number int // of its pass
	edge   float64
}

// goOn has a train begin at the last edge that will have been sent before it comes
// into force, of the given pass, and slide to the plant's own passes from there.
func (l *Loop) goOn(t *train, number int) {
	if number < l.begun {
		return
	}
	if newest, edge, ok := l.sent.told(); ok && newest >= number {
		number, l.sure = newest, sure{newest, edge}
	} else if number != l.sure.number {
		l.sure = sure{number, l.inForce(t.at(number)).at(number)}
	}
	if off := l.sure.edge - l.pass(t, number); math.Abs(off) < t.period/8 {
		t.shift(number, off, math.Min(1, t.period/(slide*l.setup.TickRate)))
	}
}

// pass is when the magnet passes that the given number goes with, in the plant's
// past or its future; t is what was made of that.
func (l *Loop) pass(t *train, number int) float64 {
	if moment, ok := l.passed.at(number); ok {
		return moment
	}
	if ahead := number - l.coming.number; ahead >= 0 && ahead < l.coming.n {
		return l.coming.when[ahead]
	}
	return t.at(number)
}

// heldUp is how long a drive is overdue, s, when something holds the wire up.
const heldUp = 4e-3

// inForce is the train that the board will be playing at a coming moment: the one
// that it plays now, or the newest that will have arrived by then. When the wire is
// held up, all wait, and will arrive with the one that is being made.
func (l *Loop) inForce(moment float64) *train {
	applied, lead := l.answers.last.AppliedDrive, l.answers.lead()
	now := &l.ordered[applied]
	if now.period == 0 {
		return &l.ordered[l.sequence-1] // the play has not begun
	}
	for q := applied + 1; q != l.sequence; q++ {
		due := float64(l.answers.asked[q]) + lead
		if due+heldUp*l.setup.TickRate < float64(l.now) || due > moment || l.ordered[q].period == 0 {
			break
		}
		now = &l.ordered[q]
	}
	return now
}

// lookAhead finds the passes to come that are wanted.
func (l *Loop) lookAhead() {
	from := float64(l.now) + l.answers.lead()
	l.coming.n, l.coming.number, l.coming.earliest = 0, l.passed.seen, l.earliest
	l.coming.from, l.coming.until = from, from+l.answers.lasts()
	played := l.setup.Plant.State()
	l.at.swayed(&l.script, l.step, &played)
	if played.EngineSpeed*stillPeriod < l.passes.spacing {
		return
	}
	l.future.meet(l)
	limit := l.step + int64(2*stillPeriod*l.setup.TickRate)/l.setup.StepTicks
	for n := 0; l.coming.wants(); n++ {
		moment, ok := l.future.pass(l, n, limit)
		if !ok {
			return
		}
		l.coming.add(moment)
	}
}

// wants reports whether more passes are wanted: two that will be played, and one
// after the last that will be.
func (c *coming) wants() bool {
	return c.n < 3 || c.n < len(c.when) && (c.when[c.n-2] < c.from || c.when[c.n-1] < c.until)
}

// train gives the passes as a train: the parabola through three of them, the last
// one that comes before the train is in force, the last that is played by it, and
// one half-way. Where no more than two are played by it they are met exactly. With
// two passes it is a straight line.
func (c *coming) train() train {
	if c.n == 2 {
		return train{c.number, c.when[0], c.when[1] - c.when[0], 0}
	}
	start := max(0, min(c.first(c.from)-1, c.n-3))
	last := max(2, min(c.first(c.until), c.n)-1-start)
	half := (last + 1) / 2
	p, k := c.when[start:], float64(start)
	a, b := (p[half]-p[0])/float64(half), (p[last]-p[0])/float64(last)
	bend := (b - a) / float64(last-half)
	slope := a - bend*float64(half)
	// p[0] + slope·n + bend·n² for the n-th pass after start
	return train{
		number: c.number, first: p[0] - k*slope + k*k*bend,
		period: slope + (1-2*k)*bend, change: 2 * bend,
	}
}
