package firmwaretest

import (
	"govrig/protocol"
)

// player is the host's end of a closed loop: it answers every telemetry frame
// with the next edge of an ideal train of pulses.
type player struct {
	b    *bench
	edge func(k int64) int64 // the train: the board's tick of edge k
	k    int64               // the next edge after the last telemetry frame
	say  protocol.Drive      // everything else of the answer

	last  protocol.Telemetry
	ticks int64 // of last, without the wrap
}

// play starts a session and a train of pulses whose first edge is at least
// 4 ms ahead.
func (b *bench) play(c protocol.Configure, edge func(k int64) int64) *player {
	b.t.Helper()
	b.configure(c)
	p := &player{b: b, edge: edge, say: protocol.Drive{Flags: protocol.DrivePlay}}
	p.hear()
	first := p.ticks + 4*millisecond - edge(0)
	p.edge = func(k int64) int64 { return first + edge(k) }
	p.answer()
	return p
}

// every is a train of pulses with a period that need not be whole.
func every(period float64) func(k int64) int64 {
	return func(k int64) int64 { return int64(float64(k)*period + 0.5) }
}

// hear takes the next telemetry frame.
func (p *player) hear() {
	p.b.t.Helper()
	m := p.b.telemetry()
	if p.ticks == 0 {
		p.ticks = int64(m.Ticks)
	} else {
		p.ticks += int64(int32(m.Ticks - p.last.Ticks))
	}
	p.last = m
}

// answer sends the Drive for the telemetry frame heard last.
func (p *player) answer() {
	p.b.t.Helper()
	for p.edge(p.k) <= p.ticks {
		p.k++
	}
	p.say.EdgeTicks = uint32(p.edge(p.k))
	p.say.PeriodTicks = uint32(p.edge(p.k+1) - p.edge(p.k))
	p.b.drive(p.say)
	p.say.FaultsLen = 0
}

// round is one frame and its answer.
func (p *player) round() protocol.Telemetry {
	p.b.t.Helper()
	p.hear()
	p.answer()
	return p.last
}

// rounds goes on for a time.
func (p *player) rounds(ticks int64) {
	p.b.t.Helper()
	for end := p.ticks + ticks; p.ticks < end; {
		p.round()
	}
}

// train gives the first n edges of the train.
func (p *player) train(n int) []int64 {
	at := make([]int64, n)
	for k := range at {
		at[k] = p.edge(int64(k))
	}
	return at
}
