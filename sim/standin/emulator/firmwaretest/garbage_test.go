package firmwaretest

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/emulator"
)

// garbage draws a burst of bytes that a broken wire might bring: noise, noise
// full of zeros, or damaged messages.
func garbage(random *rand.Rand) []byte {
	var burst []byte
	for len(burst) < 400 {
		switch random.IntN(4) {
		case 0:
			burst = append(burst, byte(random.Uint32()))
		case 1:
			burst = append(burst, byte(random.IntN(4)))
		case 2:
			drive := protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: random.Uint32(), PeriodTicks: 50_000}
			f := frame.Append(nil, drive.AppendTo(nil))
			f[random.IntN(len(f)-1)] ^= 1 << random.IntN(8)
			burst = append(burst, f...)
		case 3:
			c := settings()
			f := frame.Append(nil, c.AppendTo(nil))
			burst = append(burst, f[:random.IntN(len(f)-2)]...)
		}
	}
	return burst
}

func isMessage(m []byte) bool {
	return new(protocol.Identify).Parse(m) == nil || new(protocol.Configure).Parse(m) == nil ||
		new(protocol.Drive).Parse(m) == nil || new(protocol.Stop).Parse(m) == nil
}

// Garbage on the serial line, without a pause, never hangs the board nor
// starts a pulse. Frame by frame, the firmware drops what the host's decoder
// would.
func TestGarbageStartsNothing(t *testing.T) {
	for seed := range uint64(4) {
		random := rand.New(rand.NewPCG(seed, 328))
		b := newBench(t, "")
		b.configure(settings())
		var decoder frame.Decoder
		unknown := uint64(0) // frames that are whole by chance
		before := b.telemetry()
		for b.Now() < 1_000*millisecond {
			burst := garbage(random)
			for _, c := range burst {
				if m, ok := decoder.Next(c); ok {
					require.False(t, isMessage(m), "the draw made a message: take another seed")
					unknown++
				}
			}
			b.sendBytes(burst)
			b.run(int64(len(burst)) * 320)
		}
		decoder.Next(0)
		b.sendBytes([]byte{0})
		b.run(5 * millisecond)
		b.latest()
		m := b.telemetry()
		require.EqualValues(t, (decoder.Losses.Total()+unknown)&0xFF, m.BadFrames-before.BadFrames)
		require.EqualValues(t, protocol.TelemetrySafe, m.Flags)
		require.Zero(t, m.Overruns)
		require.Empty(t, b.edges[emulator.PickupPin])
		stats, err := b.Stats()
		require.NoError(t, err)
		require.Zero(t, stats.Resets)
	}
}

// Garbage in a session that is driven does not disturb the pulses.
func TestGarbageDisturbsNothing(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 328))
	b := newBench(t, "")
	b.find()
	p := b.play(settings(), every(66_741.37))
	p.say.StickTicks, p.say.SelectTicks = 24_000, 20_000
	for range 200 {
		p.hear()
		b.sendBytes(append(garbage(random)[:40], 0))
		p.answer()
	}
	got := b.pulses(emulator.PickupPin, false)
	require.Greater(t, len(got), 80)
	require.Equal(t, p.train(len(got)), starts(got))
	require.NotZero(t, p.last.BadFrames)
	require.Zero(t, p.last.LateEdges)
	require.Zero(t, p.last.Overruns)
}

// Bytes at a speed that the board has not, and a line that is held low, are only counted.
func TestWrongBaud(t *testing.T) {
	path, err := harness()
	require.NoError(t, err)
	for _, baud := range []int{115_200, 1_000_000} {
		edges := 0
		board, err := emulator.Open(emulator.Options{
			Harness: path, Firmware: firmware(t, ""), Baud: baud,
			Watch: func(emulator.Pin, int64, bool) { edges++ },
		})
		require.NoError(t, err)
		require.NoError(t, board.RunUntil(100*millisecond))
		c := settings()
		for range 20 {
			_, err = board.Write(frame.Append(nil, c.AppendTo(nil)))
			require.NoError(t, err)
			require.NoError(t, board.RunUntil(board.Now()+5*millisecond))
		}
		require.Zero(t, edges)
		stats, err := board.Stats()
		require.NoError(t, err)
		require.Zero(t, stats.Resets)
		require.NoError(t, board.Close())
	}
}
