package firmwaretest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// justPlayed gives a board that plays pulses with a period of 66 667 ticks and
// has made an edge, last, within the last millisecond.
func justPlayed(t *testing.T) (p *player, last int64) {
	b := newBench(t, "")
	b.find()
	p = b.play(settings(), every(66_667))
	for b.board(b.Now())-last > millisecond {
		p.round()
		if got := starts(b.pulses(emulator.PickupPin, false)); len(got) > 3 {
			last = got[len(got)-1]
		}
	}
	return p, last
}

// after gives the leading edges after a tick of the board's, when the Drive
// has been sent and the board has run on for a time.
func (p *player) after(tick int64, d protocol.Drive, ticks int64) []int64 {
	p.b.t.Helper()
	p.b.drive(d)
	p.b.run(ticks)
	var at []int64
	for _, s := range starts(p.b.pulses(emulator.PickupPin, false)) {
		if s > tick {
			at = append(at, s)
		}
	}
	return at
}

// arithmetic is n numbers from first on, step apart.
func arithmetic(first, step int64, n int) []int64 {
	at := make([]int64, n)
	for i := range at {
		at[i] = first + int64(i)*step
	}
	return at
}

// The edge of a Drive counts as sent already within half a period of the last
// one, and as the next one beyond.
func TestEdgeWithinHalfAPeriodIsTheLastOne(t *testing.T) {
	const period = 70_000
	for _, c := range []struct{ off, first int64 }{
		{0, period}, {+500, period + 500}, {-500, period - 500},
		{period / 2, period/2 + period}, {period/2 + 1, period/2 + 1},
		{-period / 2, period/2 /* which is the last one again */ + period},
	} {
		p, last := justPlayed(t)
		at := p.after(last, protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(last + c.off), PeriodTicks: period}, 15*millisecond)
		require.NotEmpty(t, at)
		require.Equal(t, arithmetic(last+c.first, period, len(at)), at, "off %d", c.off)
	}
}

// An edge that is past, by any number of periods, goes on at whole periods.
func TestEdgeInThePastGoesOnAtWholePeriods(t *testing.T) {
	const period = 50_000
	for _, ago := range []int64{1, 49_999, 50_000, 50_001, 12_345_678, 1 << 30, 1<<31 - 1<<20} {
		b := newBench(t, "")
		b.find()
		p := b.play(settings(), every(1e7)) // not yet
		edge := p.ticks - ago
		at := p.after(p.ticks, protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(edge), PeriodTicks: period}, 15*millisecond)
		require.GreaterOrEqual(t, len(at), 4)
		require.Zero(t, (at[0]-edge)%period)
		require.Less(t, at[0], p.ticks+2*millisecond+period)
		require.Equal(t, arithmetic(at[0], period, len(at)), at)
	}
}

// An edge far ahead is waited for.
func TestEdgeFarAhead(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	p := b.play(c, every(300*millisecond))
	p.rounds(700 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	require.Equal(t, p.train(3), got)
}

// An edge as far ahead as the clock can tell is waited for too, and given up
// for a nearer one.
func TestEdgeAtTheEndOfTheClock(t *testing.T) {
	p, last := justPlayed(t)
	p.b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(p.ticks + 1<<31 - 50_000), PeriodTicks: 8_000})
	p.b.run(30 * millisecond)
	p.b.latest()
	p.hear()
	require.EqualValues(t, p.b.drives, p.last.AppliedDrive)
	require.EqualValues(t, protocol.TelemetryPlaying|protocol.TelemetryDriven, p.last.Flags)
	edge := p.ticks + 40_000
	at := p.after(last, protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(edge), PeriodTicks: 50_000}, 15*millisecond)
	require.Equal(t, arithmetic(edge, 50_000, len(at)), at)
	require.Greater(t, len(at), 3)
	require.Zero(t, p.last.LateEdges)
}

// Without DrivePlay the line idles; the pulse under way ends at its time.
func TestPlayStops(t *testing.T) {
	for delay := int64(0); delay < 70_000; delay += 1_111 {
		b := newBench(t, "")
		b.find()
		c := settings()
		c.PickupWidthTicks = 30_000
		p := b.play(c, every(66_667))
		p.rounds(20 * millisecond)
		b.run(delay)
		at := b.board(b.Now())
		b.drive(protocol.Drive{})
		b.run(20 * millisecond)
		got := b.pulses(emulator.PickupPin, false)
		require.Len(t, b.edges[emulator.PickupPin], 2*len(got))
		require.Equal(t, p.train(len(got)), starts(got))
		requireWidth(t, 30_000, got)
		require.Less(t, got[len(got)-1].start, at+2*22*320+3_000, "no later than an edge too near to take back")
		b.t = nil
		require.NoError(t, b.Close())
	}
}

// FaultDrop leaves out the next pulses and nothing else.
func TestDrop(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(66_667))
	p.rounds(20 * millisecond)
	before := len(b.pulses(emulator.PickupPin, false))
	count := p.last.PickupCount
	p.say.FaultsLen = 1
	p.say.Faults[0] = protocol.Fault{Kind: protocol.FaultDrop, Value: 3}
	p.rounds(60 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	train := p.train(len(got) + 3)
	skip := before
	for got[skip] == train[skip] {
		skip++
	}
	require.Less(t, skip, before+2)
	require.Equal(t, append(train[:skip:skip], train[skip+3:]...), got)
	require.EqualValues(t, len(got)-before, p.last.PickupCount-count)
	require.Zero(t, p.last.LateEdges)
}

// The first pulses of a session can be left out too.
func TestDropAtTheStart(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(50_000))
	p.say.FaultsLen = 1
	p.say.Faults[0] = protocol.Fault{Kind: protocol.FaultDrop, Value: 2}
	p.rounds(30 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	require.Equal(t, p.train(len(got) + 2)[2:], got)
}

// FaultStray adds one pulse, so long after the next edge, unless it would come
// within 100 µs of a regular one.
func TestStray(t *testing.T) {
	const width, gap, period = 2_400, 1_600, 66_667
	fits := func(at int64) bool { return at >= width+gap && at+width+gap <= period }
	for _, us := range []uint16{0, 100, 200, 249, 250, 300, 1_000, 2_000, 3_916, 3_917, 4_000, 4_166, 4_300, 65_535} {
		b := newBench(t, "")
		b.find()
		p := b.play(settings(), every(period))
		p.rounds(20 * millisecond)
		p.say.FaultsLen = 1
		p.say.Faults[0] = protocol.Fault{Kind: protocol.FaultStray, Value: us}
		p.rounds(30 * millisecond)
		var strays []int64
		regular := map[int64]bool{}
		for _, at := range p.train(100) {
			regular[at] = true
		}
		got := b.pulses(emulator.PickupPin, false)
		requireWidth(t, width, got)
		for i, at := range starts(got) {
			if !regular[at] {
				strays = append(strays, at-starts(got)[i-1])
			}
		}
		if !fits(int64(us) * 16) {
			require.Empty(t, strays, "%d µs", us)
			continue
		}
		require.Equal(t, []int64{int64(us) * 16}, strays, "%d µs", us)
		require.Zero(t, p.last.LateEdges)
	}
}

// A fault of an unknown kind is passed over.
func TestUnknownFault(t *testing.T) {
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(66_667))
	p.say.FaultsLen = 2
	p.say.Faults = [2]protocol.Fault{{Kind: 77, Value: 9}, {Kind: 0, Value: 1}}
	p.rounds(30 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	require.Equal(t, p.train(len(got)), got)
}
