package firmwaretest

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// traffic is a session at full traffic, with everything that is to be right
// about it checked frame by frame.
type traffic struct {
	*player
	source  *source
	got     heard
	frame   int64   // telemetry period, ticks
	sent    int64   // bytes
	lag     uint8   // so many frames an answer may be late
	delays  []int64 // from a telemetry frame's tick to its Drive being applied
	knew    []int64 // from a captured pulse's end to the Drive that knows it being applied
	started emulator.Stats
}

func startTraffic(b *bench, c protocol.Configure, pickup float64, capture int64) *traffic {
	b.t.Helper()
	b.find()
	tr := &traffic{frame: int64(c.TelemetryTicks), source: newSource(b, &c, constant(capture), constant(capture/2))}
	b.run(millisecond)
	tr.player = b.play(c, every(pickup))
	tr.say.StickTicks, tr.say.SelectTicks = 24_000, 24_000
	tr.started = b.settled()
	return tr
}

// settled gives the counts once the last Drive has come.
func (b *bench) settled() emulator.Stats {
	b.t.Helper()
	b.run(millisecond)
	s, err := b.Stats()
	require.NoError(b.t, err)
	return s
}

// rounds goes on for a time.
func (tr *traffic) rounds(ticks int64) {
	t := tr.b.t
	t.Helper()
	for end := tr.ticks + ticks; tr.ticks < end; {
		before := tr.last
		tr.source.ahead(tr.frame + millisecond)
		tr.sent += 22 + 3*int64(tr.say.FaultsLen) // bytes of a Drive's frame
		tr.round()
		m := &tr.last
		tr.got.take(m)
		require.Equal(t, before.Sequence+1, m.Sequence)
		require.LessOrEqual(t, tr.b.drives-1-m.AppliedDrive, tr.lag)
		tr.delays = append(tr.delays, int64((m.AppliedTicks-before.Ticks)&0xFFFFFF))
		for _, p := range before.Pulses[:before.PulsesLen] {
			tr.knew = append(tr.knew, int64((m.AppliedTicks-p.StartTicks-p.WidthTicks)&0xFFFFFF))
		}
		require.Zero(t, m.Overruns)
		require.Zero(t, m.BadFrames)
		require.Zero(t, m.LateEdges)
		require.Zero(t, m.LostCaptures)
	}
}

// figures gives the interrupt load, and the mean and longest time from a
// telemetry frame's tick to its Drive being applied.
func (tr *traffic) figures() (load, mean, longest float64) {
	t := tr.b.t
	t.Helper()
	now := tr.b.settled()
	require.Zero(t, now.Overruns)
	require.Equal(t, tr.sent, now.BytesReceived-tr.started.BytesReceived)
	mean, longest = meanAndLongest(tr.delays)
	return now.InterruptLoad(tr.started), mean, longest
}

// meanAndLongest of spans in ticks, in s.
func meanAndLongest(spans []int64) (mean, longest float64) {
	for _, d := range spans {
		s := float64(d) / tickHz
		mean += s / float64(len(spans))
		longest = math.Max(longest, s)
	}
	return mean, longest
}

// requireStated wants the notes of the firmware and the tool's README to say a
// figure as it was measured.
func requireStated(t testing.TB, figure string) {
	t.Helper()
	for _, path := range []string{"../../../../README.md", firmwareDir + "/README.md"} {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, strings.Contains(string(text), figure), "%s does not say: %s", path, figure)
	}
}

// requireExact wants every edge and every captured pulse at its tick.
func (tr *traffic) requireExact() {
	b := tr.b
	b.t.Helper()
	require.Equal(b.t, tr.train(len(b.pulses(emulator.PickupPin, false))), starts(b.pulses(emulator.PickupPin, false)))
	requireHeard(b.t, tr.source.played, tr.got)
}

// A minute at 500 frames a second: 240 pickup pulses a second, stick and
// select at 50 Hz, throttle pulses at 333 Hz. Every edge and every time is
// right, no byte and no frame is lost, each Drive is applied at most 1.1 ms
// after the frame that it answers was made, with one captured pulse in it or
// none.
func TestMinuteOfFullTraffic(t *testing.T) {
	b := newBench(t, "")
	tr := startTraffic(b, settings(), 66_741.37, 48_048)
	for range 60 {
		tr.rounds(1_000 * millisecond)
		tr.requireExact()
		// Keep the record short.
		tr.source.played = tr.source.played[len(tr.got):]
		tr.got = nil
		tr.forget()
	}
	load, mean, longest := tr.figures()
	t.Logf("emulated, not checked on silicon: telemetry to drive applied %.3f ms (mean %.3f), interrupt load %.1f %%, %d bytes received",
		1e3*longest, 1e3*mean, 100*load, tr.sent)
	knew, oldest := meanAndLongest(tr.knew)
	t.Logf("the governor's pulse to the answer that knows it: %.2f ms, at most %.2f", 1e3*knew, 1e3*oldest)
	requireStated(t, fmt.Sprintf("%.2f ms on the mean, %.2f ms at most", 1e3*mean, 1e3*longest))
	requireStated(t, fmt.Sprintf("%.2f ms on the mean, %.2f ms at most", 1e3*knew, 1e3*oldest))
	require.LessOrEqual(t, longest, 1.2e-3)
	require.LessOrEqual(t, load, 0.25)
}

// forget drops the edges seen so far; the train goes on with the next.
func (tr *traffic) forget() {
	b, train := tr.b, tr.edge
	n := int64(len(b.pulses(emulator.PickupPin, false)))
	open := b.edges[emulator.PickupPin][2*n:] // a pulse under way
	b.edges = map[emulator.Pin][]edge{emulator.PickupPin: open}
	tr.edge = func(k int64) int64 { return train(k + n) }
	tr.k -= n
}

// The worst that the board is made for, all at once: 2000 pickup pulses a
// second, stick and select at 333 Hz, and 333 throttle pulses or 1900 pickup
// pulses a second to be timed.
func TestWorstInterruptLoad(t *testing.T) {
	for _, c := range []struct {
		name    string
		options uint8
		capture int64
		lag     uint8 // of Edges and four pulses in one frame
	}{{"throttle", 0, 48_048, 0}, {"probe", protocol.OptionCaptureProbe, 8_421, 1}} {
		t.Run(c.name, func(t *testing.T) {
			b := newBench(t, "")
			s := settings()
			s.Options, s.ServoPeriodTicks = c.options, 48_000
			tr := startTraffic(b, s, 8_000, c.capture)
			tr.lag = c.lag
			tr.rounds(2_000 * millisecond)
			tr.requireExact()
			load, mean, longest := tr.figures()
			t.Logf("emulated, not checked on silicon: interrupt load %.1f %%, telemetry to drive applied %.3f ms (mean %.3f)",
				100*load, 1e3*longest, 1e3*mean)
			require.LessOrEqual(t, load, 0.25)
			stats, err := b.Stats()
			require.NoError(t, err)
			t.Logf("the stack reaches down to 0x%03X", stats.LowestStack)
			require.Greater(t, stats.LowestStack, 0x700, "far from the static memory, which ends below 0x500")
			for _, vector := range []int{7, 10, 11, 12} { // Timer2's match, Timer1's capture and matches
				t.Logf("vector %d waits up to %d cycles and takes up to %d",
					vector, stats.Vectors[vector].LatestTicks, stats.Vectors[vector].LongestTicks)
				// Less than the shortest pulse, or its end would be set up too late.
				require.Less(t, stats.Vectors[vector].LatestTicks+stats.Vectors[vector].LongestTicks, int64(1_600))
			}
		})
	}
}

// A Drive with a fault is three bytes longer.
func TestLoopDelayWithFaults(t *testing.T) {
	b := newBench(t, "")
	tr := startTraffic(b, settings(), 66_741.37, 48_048)
	for range 1_000 {
		tr.say.FaultsLen = 1 // of no kind
		tr.rounds(1)
	}
	_, mean, longest := tr.figures()
	t.Logf("emulated, not checked on silicon: telemetry to drive applied %.3f ms (mean %.3f)", 1e3*longest, 1e3*mean)
	require.LessOrEqual(t, mean, 1.2e-3)
}

// The board's 32-bit clock wraps after 268 s. A build whose clock starts half
// a second before that plays and times on as if nothing were.
func TestClockWrap(t *testing.T) {
	b := newBench(t, "-DCLOCK_HIGH_START=0xFF80")
	tr := startTraffic(b, settings(), 66_741.37, 48_048)
	require.Greater(t, tr.last.Ticks, uint32(0xFF000000))
	tr.rounds(1_000 * millisecond)
	require.Less(t, tr.last.Ticks, uint32(0x01000000))
	tr.requireExact()
}

// The same across the failsafe: its deadline lies beyond the wrap.
func TestFailsafeAcrossTheWrap(t *testing.T) {
	b := newBench(t, "-DCLOCK_HIGH_START=0xFF80")
	b.find()
	c := settings()
	c.FailsafeTicks = 500 * millisecond
	p := b.play(c, every(50_021))
	p.rounds(100 * millisecond)
	applied := p.ticks
	b.run(700 * millisecond)
	got := b.pulses(emulator.PickupPin, false)
	last := got[len(got)-1].start
	require.Greater(t, last, int64(1)<<32)
	require.InDelta(t, applied+500*millisecond, last, 65_536+50_021+3*millisecond)
	require.Equal(t, p.train(len(got)), starts(got))
}
