package firmwaretest

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// source plays pulses into the board: the throttle line or the pickup probe.
type source struct {
	b      *bench
	probe  bool
	low    bool
	next   int64 // start of the next pulse, harness ticks
	period func() int64
	width  func() int64
	played []pulse
}

func newSource(b *bench, c *protocol.Configure, period, width func() int64) *source {
	s := &source{b: b, period: period, width: width}
	s.probe = c.Options&protocol.OptionCaptureProbe != 0
	s.low = c.Options&protocol.OptionCaptureLow != 0
	s.set(b.Now(), false)
	return s
}

// set puts the line at its pulse's level or at rest.
func (s *source) set(tick int64, active bool) {
	s.b.t.Helper()
	high := active != s.low
	if !s.probe {
		require.NoError(s.b.t, s.b.Drive(emulator.ThrottlePin, tick, high))
		return
	}
	millivolts := uint16(200)
	if high {
		millivolts = 4_000
	}
	require.NoError(s.b.t, s.b.Millivolts(emulator.ProbeChannel, tick, millivolts))
}

// ahead plays what starts within the time to come.
func (s *source) ahead(ticks int64) {
	s.b.t.Helper()
	if s.next == 0 {
		s.next = s.b.Now() + 5_000
	}
	for s.next < s.b.Now()+ticks {
		p := pulse{s.next, s.width()}
		s.set(p.start, true)
		s.set(p.start+p.width, false)
		s.played = append(s.played, pulse{s.b.board(p.start), p.width})
		s.next += s.period()
	}
}

func constant(v int64) func() int64 { return func() int64 { return v } }

// between draws from a range, the same every time.
func between(random *rand.Rand, low, high int64) func() int64 {
	return func() int64 { return low + random.Int64N(high-low+1) }
}

// heard gathers the captured pulses of telemetry frames.
type heard []pulse

func (h *heard) take(m *protocol.Telemetry) {
	for _, p := range m.Pulses[:m.PulsesLen] {
		*h = append(*h, pulse{int64(p.StartTicks), int64(p.WidthTicks)})
	}
}

// requireHeard wants every pulse played to have been heard to the tick, and
// nothing else; the last few may still be on their way.
func requireHeard(t testing.TB, played []pulse, got heard) {
	t.Helper()
	require.GreaterOrEqual(t, len(got)+6, len(played))
	require.LessOrEqual(t, len(got), len(played))
	for i, g := range got {
		require.Equal(t, pulse{played[i].start & 0xFFFFFF, played[i].width}, g, "pulse %d", i)
	}
}

// Pulses on the throttle line are timed to the tick: servo pulses at 333 Hz,
// pulses of every length at every moment, high or low.
func TestThrottleCaptureIsExact(t *testing.T) {
	for _, options := range []uint8{0, protocol.OptionCaptureLow} {
		random := rand.New(rand.NewPCG(1, uint64(options)))
		for name, train := range map[string][2]func() int64{
			"333 Hz":  {constant(48_048), between(random, 12_800, 35_200)},
			"50 Hz":   {constant(320_001), between(random, 12_800, 35_200)},
			"1000 Hz": {constant(16_000), constant(8_000)},
			"any":     {between(random, 70_000, 300_000), between(random, 1_600, 66_000)},
		} {
			t.Run(fmt.Sprint(name, options), func(t *testing.T) {
				captureTrain(t, options, train[0], train[1])
			})
		}
	}
}

// The probe sees up to 1900 pulses a second.
func TestProbeCaptureIsExact(t *testing.T) {
	for _, period := range []int64{8_421, 16_000, 66_667, 1_000_003} {
		t.Run(fmt.Sprint(period), func(t *testing.T) {
			captureTrain(t, protocol.OptionCaptureProbe, constant(period), constant(period/9))
			captureTrain(t, protocol.OptionCaptureProbe|protocol.OptionCaptureLow, constant(period), constant(period/3))
		})
	}
}

func captureTrain(t *testing.T, options uint8, period, width func() int64) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.Options = options
	s := newSource(b, &c, period, width)
	b.run(millisecond)
	p := b.play(c, every(66_741.37))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 19_200
	var got heard
	lost := p.last.LostCaptures
	for p.ticks < 500*millisecond || len(s.played) < 30 {
		s.ahead(3 * millisecond)
		m := p.round()
		got.take(&m)
	}
	require.Equal(t, lost, p.last.LostCaptures)
	requireHeard(t, s.played, got)
}

// A pulse too long for the wire, and pulses that come faster than telemetry
// can carry them, are counted as lost and nothing else is.
func TestLostCapturesAreCounted(t *testing.T) {
	b := newBench(t, "")
	b.find()
	c := settings()
	c.TelemetryTicks = 8 * millisecond
	s := newSource(b, &c, constant(16_000), constant(4_000))
	p := b.play(c, every(66_741.37))
	var got heard
	lost := 0
	for range 100 {
		before := p.last.LostCaptures
		s.ahead(9 * millisecond)
		m := p.round()
		got.take(&m)
		lost += int(m.LostCaptures - before)
	}
	require.Greater(t, lost, 300)
	require.InDelta(t, len(s.played), len(got)+lost, 16, "heard, lost or still on the way")

	// The line stays active for longer than 24 bits can tell.
	b = newBench(t, "")
	b.configure(settings())
	b.telemetry()
	require.NoError(t, b.Drive(emulator.ThrottlePin, b.Now()+1000, true))
	require.NoError(t, b.Drive(emulator.ThrottlePin, b.Now()+0x1000000+50_000, false))
	require.NoError(t, b.Drive(emulator.ThrottlePin, b.Now()+0x1000000+90_000, true))
	require.NoError(t, b.Drive(emulator.ThrottlePin, b.Now()+0x1000000+99_000, false))
	got = nil
	for end := b.Now() + 0x1000000 + 10*millisecond; b.Now() < end; {
		m := b.telemetry()
		got.take(&m)
		require.Equal(t, m.LostCaptures != 0, b.Now() > end-10*millisecond, "at %d", b.Now()-end)
		if m.LostCaptures > 0 {
			require.EqualValues(t, 1, m.LostCaptures)
		}
	}
	require.Len(t, got, 1)
	require.EqualValues(t, 9_000, got[0].width)
}

// TelemetryCaptureHigh tells the line's level, whatever a pulse is.
func TestCaptureLevel(t *testing.T) {
	b := newBench(t, "")
	for _, options := range []uint8{0, protocol.OptionCaptureLow, protocol.OptionCaptureProbe} {
		c := settings()
		c.Options = options
		s := newSource(b, &c, nil, nil)
		b.configure(c)
		for _, active := range []bool{true, false} {
			s.set(b.Now(), active)
			b.telemetry()
			m := b.telemetry()
			require.Equal(t, active != s.low, m.Flags&protocol.TelemetryCaptureHigh != 0)
		}
	}
}
