package board

import (
	"govrig/protocol"
	"govrig/sim/standin/governor"
)

// guardTicks is how near an edge may be and still be moved.
const guardTicks = 1_600

// gapTicks is the least time that the pickup line rests between two pulses.
const gapTicks = 1_600

// pickup plays the pickup line. Its leading edges are "high" here; whether the
// line itself rises is the session's business.
type pickup struct {
	playing bool
	edge    int64 // next regular leading edge; never when not playing
	train   train // whose next edge that is
	last    int64 // last regular leading edge
	fall    int64 // end of the pulse under way; never when none is
	stray   int64 // leading edge of a stray pulse; never when none is ordered
	after   int64 // a stray pulse is wanted this long after the next edge; 0 is none
	drop    int   // regular pulses still to leave out

	pending protocol.Drive // waits for the edge that is too near to move
	waiting bool
}

// train are the regular edges to come, in parts of a tick.
type train struct{ edge, period, change int64 }

// parts is how many parts a tick has.
const parts = 256

// next goes on to the next edge: the spacing itself changes by the same each
// time, within the board's limits.
func (t *train) next() {
	t.edge += t.period
	if longer := t.period + t.change; longer >= protocol.MinPeriodTicks*parts && longer <= protocol.MaxPeriodTicks*parts {
		t.period = longer
	}
}

// lateEdges is how many edges are gone through one by one; a host that is later
// than that has them go on at one spacing.
const lateEdges = 64

// bringUp goes on to the first edge at least tick, which may be far ahead.
func (t *train) bringUp(tick int64) {
	for n := 0; n < lateEdges; n++ {
		if t.edge/parts >= tick {
			return
		}
		t.next()
	}
	t.change = 0
	period := t.period / parts
	if late := tick - t.edge/parts; late > 0 {
		t.edge += (late + period - 1) / period * period * parts
	}
}

func newPickup() pickup {
	return pickup{edge: never, fall: never, stray: never, last: -never}
}

func (p *pickup) next() int64 { return min(p.edge, p.fall, p.stray) }

// stop lets the pulse under way end and plays no other.
func (p *pickup) stop() {
	p.playing, p.edge, p.stray, p.after, p.drop, p.waiting = false, never, never, 0, 0, false
}

// drive takes up new orders at tick now.
func (p *pickup) drive(now int64, d *protocol.Drive) {
	for _, f := range d.Faults[:d.FaultsLen] {
		switch f.Kind {
		case protocol.FaultDrop:
			p.drop += int(f.Value)
		case protocol.FaultStray:
			p.after = int64(f.Value) * (TickHz / 1_000_000)
		}
	}
	if d.Flags&protocol.DrivePlay == 0 {
		p.stop()
		return
	}
	if p.playing && p.edge-now < guardTicks {
		p.pending, p.waiting = *d, true
		return
	}
	p.place(now, d)
}

// place moves the next edge to the first of the ordered ones that is still to
// come.
func (p *pickup) place(now int64, d *protocol.Drive) {
	p.train = train{
		edge:   (now + int64(int32(d.EdgeTicks-uint32(now)))) * parts,
		period: int64(d.PeriodTicks)*parts + int64(d.PeriodFraction),
		change: int64(int32(d.ChangeFraction<<8) >> 8),
	}
	p.train.period = min(max(p.train.period, protocol.MinPeriodTicks*parts), protocol.MaxPeriodTicks*parts)
	p.train.bringUp(now)
	for p.playing && p.train.edge/parts <= p.last+p.train.period/parts/2 {
		p.train.next()
	}
	p.edge, p.playing = p.train.edge/parts, true
}

// step makes the edge that is due at tick now. It reports whether the pulse
// starts or ends.
func (p *pickup) step(now, width int64, status *status) (high, ok bool) {
	switch {
	case p.fall <= now:
		p.fall = never
		return false, true
	case p.stray <= now:
		p.stray = never
		p.begin(now, width, status)
		return true, true
	case p.edge <= now:
		return p.regular(now, width, status)
	}
	return false, false
}

func (p *pickup) regular(now, width int64, status *status) (high, ok bool) {
	p.last = p.edge
	p.train.next()
	p.edge = p.train.edge / parts
	if p.waiting {
		p.waiting = false
		p.place(now, &p.pending)
	}
	if p.after > 0 {
		p.stray, p.after = p.strayEdge(width), 0
	}
	if p.drop > 0 {
		p.drop--
		return false, false
	}
	p.begin(now, min(width, p.edge-p.last-gapTicks), status)
	return true, true
}

// strayEdge is where the stray pulse goes, or never when it would touch a
// regular one.
func (p *pickup) strayEdge(width int64) int64 {
	at := p.last + p.after
	if at < p.last+width+gapTicks || at+width+gapTicks > p.edge {
		return never
	}
	return at
}

func (p *pickup) begin(now, width int64, status *status) {
	p.fall = now + width
	status.played(now)
}

// servo plays a line of servo pulses.
type servo struct {
	line  governor.Line
	width int64 // 0 leaves the line low
	rise  int64 // next pulse
	fall  int64
}

func newServo(line governor.Line) servo { return servo{line: line, rise: never, fall: never} }

func (s *servo) next() int64 { return min(s.rise, s.fall) }

func (s *servo) step(now, period int64) (high, ok bool) {
	if s.fall <= now {
		s.fall = never
		return false, true
	}
	if s.rise > now {
		return false, false
	}
	s.rise += period
	if s.width == 0 {
		return false, false
	}
	width := s.width
	if s.line == governor.Select { // its timer counts half microseconds
		width = (width + selectStepTicks/2) / selectStepTicks * selectStepTicks
	}
	s.fall = now + width
	return true, true
}
