package firmwaretest

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// The firmware's README lists thirteen traps of this chip and the cure of each. For
// every one there is a check that the firmware passes, and that a build with
// that one cure taken out does not.
func TestEveryTrapIsCured(t *testing.T) {
	for _, trap := range []struct {
		number int
		name   string
		defs   string
		check  func(b *bench) error
	}{
		{1, "a capture just after an overflow whose interrupt is waiting", "", captureAroundOverflow},
		{2, "the clock read while interrupts use its TEMP register", "", steadyTelemetry},
		{3, "a compare value that is past when it is written", "", edgesThatAreHardToMeet},
		{4, "an interval longer than the timer's period", "", longInterval},
		{5, "a pulse shorter than interrupts are held up", "", shortestPulse},
		{6, "timer interrupts in a row while bytes come in", "", bytesDuringInterrupts},
		{7, "a plan changed while an edge is being made", "", driveAroundAnEdge},
		{8, "an edge that comes while the capture edge is switched", "", glitches},
		{9, "a main loop that hangs", "-DTEST_HANG", failsafeWhileHanging},
		{10, "two pulses in one telemetry frame", "", twoPulsesAFrame},
		{11, "edges that come faster than they can be looked at", "", stormAfterTheLastWord},
		{12, "what a boot loader left in the registers", "", spoiledRegisters},
		{13, "a clock whose interrupt hangs", "-DTEST_HANG=3", watchdogWithoutTheClock},
	} {
		t.Run(fmt.Sprint(trap.number), func(t *testing.T) {
			require.NoError(t, trap.check(newBench(t, trap.defs)), trap.name)
			broken := fmt.Sprintf("%s -DBREAK_TRAP=%d", trap.defs, trap.number)
			err := trap.check(newBench(t, broken))
			require.Error(t, err, "without its cure: %s", trap.name)
			t.Logf("%s; without its cure: %v", trap.name, err)
		})
	}
}

// firstDifference tells where two trains of edges part. One may be longer.
func firstDifference(want, got []int64) error {
	for i := range min(len(want), len(got)) {
		if want[i] != got[i] {
			return fmt.Errorf("edge %d is at %d, not at %d", i, got[i], want[i])
		}
	}
	return nil
}

// differ compares captured pulses with those played, all but the last ones.
func differ(played []pulse, got heard) error {
	for i, p := range played[:len(played)-6] {
		want := pulse{p.start & 0xFFFFFF, p.width}
		if i >= len(got) {
			return fmt.Errorf("pulse %d was never heard", i)
		}
		if got[i] != want {
			return fmt.Errorf("pulse %d was heard as %v, not %v", i, got[i], want)
		}
	}
	return nil
}

func captureAroundOverflow(b *bench) error {
	b.find()
	b.configure(settings())
	var played []pulse
	var got heard
	for i := range int64(60) {
		overflow := (b.board(b.Now())>>16 + 2) << 16
		p := pulse{overflow - 40 + i, 20_000}
		if i%2 == 1 { // the trailing edge there instead
			p = pulse{overflow - 20_000 - 40 + i, 20_000}
		}
		require.NoError(b.t, b.Drive(emulator.ThrottlePin, p.start+b.zero, true))
		require.NoError(b.t, b.Drive(emulator.ThrottlePin, p.start+p.width+b.zero, false))
		played = append(played, p)
		for b.board(b.Now()) < p.start+p.width+4*millisecond {
			m := b.telemetry()
			got.take(&m)
		}
	}
	return differ(played, got)
}

func steadyTelemetry(b *bench) error {
	c := settings()
	c.ServoPeriodTicks = 48_000
	p := b.play(c, every(8_000))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
	first := p.ticks
	for i := int64(1); i < 2_000; i++ {
		p.round()
		if off := p.ticks - first - i*2*millisecond; max(off, -off) > 3_000 {
			return fmt.Errorf("telemetry frame %d is off its schedule by %d ticks", i, off)
		}
	}
	return nil
}

// edgesThatAreHardToMeet orders edges that are just ahead when the Drive is
// applied, some too near to be armed in time.
func edgesThatAreHardToMeet(b *bench) error {
	const period = 20_000
	b.find()
	c := settings()
	c.FailsafeTicks = 1_000 * millisecond
	for ahead := int64(0); ahead < 1_800; ahead += 37 {
		b.configure(c)
		b.edges[emulator.PickupPin] = nil
		b.telemetry()
		edge := b.board(b.Now()) + 18*320 + ahead
		b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(edge), PeriodTicks: period})
		b.run(10 * millisecond)
		got := starts(b.pulses(emulator.PickupPin, false))
		for i, at := range got {
			late := (at - edge) % period
			if width := b.pulses(emulator.PickupPin, false)[i].width; width != int64(c.PickupWidthTicks) {
				return fmt.Errorf("edge %d ordered %d ticks after the Drive begins a pulse of %d ticks", i, ahead, width)
			}
			if at-edge < 0 || late > 1_000 || (i > 0 && late != 0) {
				return fmt.Errorf("edge %d ordered %d ticks after the Drive came late by %d", i, ahead, late)
			}
			if i > 0 && at-got[i-1] > period {
				return fmt.Errorf("no edge for %d ticks", at-got[i-1])
			}
		}
		if len(got) < 6 {
			return fmt.Errorf("only %d edges, ordered %d ticks after the Drive", len(got), ahead)
		}
		b.latest()
	}
	return nil
}

func longInterval(b *bench) error {
	b.find()
	p := b.play(settings(), every(320_000))
	p.rounds(200 * millisecond)
	got := starts(b.pulses(emulator.PickupPin, false))
	return firstDifference(p.train(9), got)
}

func shortestPulse(b *bench) error {
	b.find()
	p := b.play(settings(), every(66_667))
	p.say.StickTicks, p.say.SelectTicks = 50, 50
	p.rounds(200 * millisecond)
	if p.last.LateEdges > 0 {
		return fmt.Errorf("%d late edges", p.last.LateEdges)
	}
	return nil
}

// bytesDuringInterrupts sends without a pause while edges of the pickup line
// drift through those of the stick and the throttle line, which come together.
func bytesDuringInterrupts(b *bench) error {
	b.find()
	c := settings()
	c.ServoPeriodTicks, c.FailsafeTicks = 48_000, 1_000*millisecond
	p := b.play(c, every(8_007))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
	p.rounds(40 * millisecond)
	stick := b.pulses(emulator.StickPin, false)[0].start
	s := newSource(b, &c, constant(48_000), constant(24_000))
	s.next = b.zero + stick + 40*48_000 - 3 // the capture unit's delay
	for range 450 {
		s.ahead(3 * millisecond)
		p.hear()
		// 95 bytes take 1.9 of the 2 ms.
		b.sendBytes(slices.Repeat([]byte{1, 0}, 48)[1:])
		if p.last.Overruns > 0 {
			return fmt.Errorf("%d bytes lost", p.last.Overruns)
		}
	}
	return nil
}

// driveAroundAnEdge has Drives that change nothing applied at every moment
// around a pulse, in steps of a few cycles.
func driveAroundAnEdge(b *bench) error {
	const period = 66_667
	b.find()
	c := settings()
	c.FailsafeTicks = 1_000 * millisecond
	p := b.play(c, every(period))
	for off := int64(-3_000); off < 4_000; off += 9 {
		p.k++
		edge := p.edge(p.k)
		require.NoError(b.t, b.RunUntil(edge+b.zero-18*320+off))
		b.drive(protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(edge), PeriodTicks: period})
	}
	b.latest()
	if late := b.telemetry().LateEdges; late > 0 {
		return fmt.Errorf("%d late edges", late)
	}
	got := starts(b.pulses(emulator.PickupPin, false))
	return firstDifference(p.train(len(got)), got)
}

// glitches plays pulses too short to be timed between servo pulses. Those may
// be lost, but what is heard was played, and the servo pulses are all heard.
func glitches(b *bench) error {
	b.find()
	b.configure(settings())
	widths := map[int64]int64{} // by start
	for i := range int64(100) {
		at := b.Now() + 2_000
		for _, p := range []pulse{{at, 1 + i*3}, {at + 10_000, 20_000}} {
			require.NoError(b.t, b.Drive(emulator.ThrottlePin, p.start, true))
			require.NoError(b.t, b.Drive(emulator.ThrottlePin, p.start+p.width, false))
			widths[b.board(p.start)&0xFFFFFF] = p.width
		}
		servo := 0
		for b.Now() < at+4*millisecond {
			m := b.telemetry()
			for _, p := range m.Pulses[:m.PulsesLen] {
				if widths[int64(p.StartTicks)] != int64(p.WidthTicks) {
					return fmt.Errorf("a pulse of %d ticks was heard as %d", widths[int64(p.StartTicks)], p.WidthTicks)
				}
				if p.WidthTicks == 20_000 {
					servo++
				}
			}
		}
		if servo != 1 {
			return fmt.Errorf("%d servo pulses heard after a glitch of %d ticks", servo, 1+i*3)
		}
	}
	return nil
}

func failsafeWhileHanging(b *bench) error {
	const failsafe = 40 * millisecond
	b.find()
	c := settings()
	c.FailsafeTicks = failsafe
	p := b.play(c, every(50_021))
	p.rounds(20 * millisecond)
	h := hang
	h.EdgeTicks = uint32(p.edge(p.k))
	b.drive(h)
	applied := b.Now() + 18*320 + 2_000
	b.run(300 * millisecond)
	e := b.edges[emulator.PickupPin]
	if last := e[len(e)-1].tick - applied; last > failsafe {
		return fmt.Errorf("still pulses %d ms after the last Drive", last/millisecond)
	}
	return nil
}

func twoPulsesAFrame(b *bench) error {
	b.find()
	c := settings()
	c.TelemetryTicks = 4 * millisecond
	s := newSource(b, &c, constant(48_048), constant(24_000))
	b.run(millisecond)
	p := b.play(c, every(66_667))
	var got heard
	for range 100 {
		s.ahead(6 * millisecond)
		m := p.round()
		got.take(&m)
	}
	return differ(s.played, got)
}

// stormAfterTheLastWord has the host go, and 1 MHz come to the throttle line.
func stormAfterTheLastWord(b *bench) error {
	c := settings()
	c.FailsafeTicks = 100 * millisecond
	w := startWeather(b, c, constant(fastest))
	w.player.rounds(20 * millisecond)
	w.word = b.Now() + 18*320
	w.silence(400 * millisecond)
	e := b.edges[emulator.PickupPin]
	if last := e[len(e)-1].tick - w.word; last > 102*millisecond {
		return fmt.Errorf("still pulses %d ms after the last Drive", last/millisecond)
	}
	return b.requireResets(0)
}

func (b *bench) requireResets(n int) error {
	stats, err := b.Stats()
	if err == nil && stats.Resets != n {
		err = fmt.Errorf("%d resets, not %d", stats.Resets, n)
	}
	return err
}

// watchdogWithoutTheClock has nobody look at the failsafe any more, while the
// main loop goes on.
func watchdogWithoutTheClock(b *bench) error {
	p := b.play(settings(), every(50_021))
	p.rounds(20 * millisecond)
	b.drive(hang)
	b.run(300 * millisecond)
	return b.requireResets(1)
}
