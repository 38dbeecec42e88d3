package firmwaretest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// storm is what noise, ringing or wrong wires bring to D8 and D7: edges with any
// gaps between them.
type storm struct {
	lines []*source
	gap   func() int64 // ticks to the next edge
	next  int64        // harness ticks
	high  bool
}

// Half a microsecond from edge to edge is 1 MHz.
const fastest = 8

// regular storms have edges at one rate, in Hz of whole cycles.
func regular(hz int64) func(*rand.Rand) func() int64 {
	return func(*rand.Rand) func() int64 { return constant(tickHz / hz / 2) }
}

// scattered edges have gaps of a mean, ticks, as chance has them.
func scattered(mean float64) func(*rand.Rand) func() int64 {
	return func(random *rand.Rand) func() int64 {
		return func() int64 { return max(fastest, int64(random.ExpFloat64()*mean)) }
	}
}

// bursts at 1 MHz last up to 3 ms, with up to 3 ms of rest between them.
func bursts(random *rand.Rand) func() int64 {
	left := 0
	return func() int64 {
		if left--; left > 0 {
			return fastest
		}
		left = random.IntN(6_000)
		return 1 + random.Int64N(3*millisecond)
	}
}

var storms = []struct {
	name string
	gaps func(*rand.Rand) func() int64
}{
	{"1 MHz", regular(1_000_000)}, {"300 kHz", regular(300_000)}, {"250 kHz", regular(250_000)},
	{"80 kHz", regular(80_000)}, {"40 kHz", regular(40_000)}, {"12 kHz", regular(12_000)},
	{"scattered, 2 µs", scattered(32)}, {"scattered, 20 µs", scattered(320)}, {"bursts", bursts},
}

func newStorm(b *bench, gap func() int64) *storm {
	throttle := newSource(b, &protocol.Configure{}, nil, nil)
	probe := newSource(b, &protocol.Configure{Options: protocol.OptionCaptureProbe}, nil, nil)
	return &storm{lines: []*source{throttle, probe}, gap: gap}
}

// ahead plays the edges of the time to come.
func (s *storm) ahead(now, ticks int64) {
	s.next = max(s.next, now+1)
	for end := now + ticks; s.next < end; s.next += s.gap() {
		s.high = !s.high
		for _, line := range s.lines {
			line.set(s.next, s.high)
		}
	}
}

// weather is a session with a storm on the input that it times.
type weather struct {
	*player
	storm *storm
	heard protocol.Telemetry // the last one
	word  int64              // when the last Drive had come, harness ticks
}

func startWeather(b *bench, c protocol.Configure, gap func() int64) *weather {
	b.t.Helper()
	b.find()
	w := &weather{storm: newStorm(b, gap)}
	w.player = b.play(c, every(33_321.37))
	w.say.StickTicks, w.say.SelectTicks = 24_000, 20_000
	return w
}

// rounds drives the board through the storm for a time.
func (w *weather) rounds(ticks int64) {
	w.b.t.Helper()
	for end := w.b.Now() + ticks; w.b.Now() < end; {
		w.storm.ahead(w.b.Now(), 8*millisecond)
		w.heard = w.round()
		w.word = w.b.Now() + 18*320 // bytes of a Drive's frame
	}
}

// silence goes on for a time in the storm, with nobody at the host's end.
func (w *weather) silence(ticks int64) {
	w.b.t.Helper()
	for end := w.b.Now() + ticks; w.b.Now() < end; {
		w.storm.ahead(w.b.Now(), 2*millisecond)
		w.b.run(millisecond)
	}
}

// last gives how long after the host's last word the last pickup pulse and the
// last stick pulse began and ended.
func (w *weather) last() (pickup, stick pulse) {
	w.b.t.Helper()
	end := func(pin emulator.Pin) pulse {
		all := w.b.pulses(pin, false)
		require.NotEmpty(w.b.t, all)
		require.Len(w.b.t, w.b.edges[pin], 2*len(all), "the last pulse has ended")
		p := all[len(all)-1]
		return pulse{p.start + w.b.zero - w.word, p.start + p.width + w.b.zero - w.word}
	}
	return end(emulator.PickupPin), end(emulator.StickPin)
}

// Whatever is on its inputs, up to 1 MHz: the board hears its host, every edge is
// at its tick, and when the host is gone the last pickup pulse and the last stick
// pulse begin before the failsafe time is over, whatever that is. Nothing resets.
func TestSafeInAnyStorm(t *testing.T) {
	for i, s := range storms {
		for _, options := range []uint8{0, protocol.OptionCaptureProbe, protocol.OptionCaptureLow} {
			t.Run(fmt.Sprint(s.name, options), func(t *testing.T) {
				random := rand.New(rand.NewPCG(uint64(i), uint64(options)))
				c := settings()
				c.Options, c.SafeStickTicks = options, 0
				c.FailsafeTicks = []uint32{protocol.MinFailsafeTicks, 100 * millisecond, protocol.MinFailsafeTicks + random.Uint32N(protocol.MaxFailsafeTicks-protocol.MinFailsafeTicks+1)}[i%3]
				c.ServoPeriodTicks = 48_000 + random.Uint32N(300_000)
				b := newBench(t, "")
				w := startWeather(b, c, s.gaps(random))
				w.rounds(60 * millisecond)
				got := starts(b.pulses(emulator.PickupPin, false))
				require.Equal(t, w.train(len(got)), got)
				require.NotZero(t, w.heard.Flags&protocol.TelemetryPlaying)
				require.Zero(t, w.heard.LateEdges)
				w.silence(int64(c.FailsafeTicks) + 60*millisecond)
				pickup, stick := w.last()
				require.Less(t, pickup.start, int64(c.FailsafeTicks))
				require.Less(t, stick.start, int64(c.FailsafeTicks))
				requireWidth(t, 150*microsecond, b.pulses(emulator.PickupPin, false))
				requireWidth(t, 24_000, b.pulses(emulator.StickPin, false))
				require.NoError(t, b.requireResets(0))
			})
		}
	}
}

// At the failsafe time of the rig, 100 ms, and at any moment of the board's
// clock: the last pickup pulse and the last stick pulse begin at most 100 ms after
// the host's last word, and the pickup plays for 95 ms of them.
func TestLastPulses(t *testing.T) {
	b := newBench(t, "")
	c := settings()
	c.FailsafeTicks, c.SafeStickTicks, c.ServoPeriodTicks = 100*millisecond, 0, 48_000
	b.find()
	var pickups, sticks []float64
	for i := range int64(40) {
		b.edges[emulator.PickupPin], b.edges[emulator.StickPin] = nil, nil
		p := b.play(c, every(8_000))
		p.say.StickTicks = 24_000
		p.rounds(20 * millisecond)
		b.run(i * 65_536 / 40)
		p.answer()
		w := &weather{player: p, word: b.Now() + 18*320}
		b.run(110 * millisecond)
		pickup, stick := w.last()
		pickups = append(pickups, float64(pickup.start)/millisecond)
		sticks = append(sticks, float64(stick.start)/millisecond)
		b.latest()
	}
	t.Logf("emulated, not checked on silicon: last pickup pulse %.1f to %.1f ms, last stick pulse %.1f to %.1f ms after the host's last word",
		slices.Min(pickups), slices.Max(pickups), slices.Min(sticks), slices.Max(sticks))
	require.Greater(t, slices.Min(pickups), 95.)
	require.Less(t, slices.Max(pickups), 101.)
	require.Less(t, slices.Max(sticks), 101.)
	requireStated(t, "last pickup pulse and last stick pulse at most 101 ms after the host's last word")
}
