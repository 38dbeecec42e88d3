package firmwaretest

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
)

// at has the host's end of the wire at a speed.
func (b *bench) at(baud int) {
	b.t.Helper()
	require.NoError(b.t, b.SetBaud(baud))
}

// hail has the board come to the host's speed.
func (b *bench) hail() {
	b.t.Helper()
	b.sendBytes(make([]byte, protocol.BaudHail))
}

// hears reports whether the board answers at the host's speed.
func (b *bench) hears() bool {
	b.t.Helper()
	b.queue = nil
	b.sendBytes([]byte{0}) // whatever was half heard ends here
	b.send(&protocol.Identify{Protocol: protocol.Version})
	b.run(20 * millisecond)
	// A frame that was on its way when the speed changed is damaged, and no fault.
	b.queue, b.decoder = nil, frame.Decoder{}
	var buf [512]byte
	for range 100 {
		n, err := b.Read(buf[:])
		if err != nil {
			break
		}
		answered := false
		for _, c := range buf[:n] {
			m, ok := b.decoder.Next(c)
			answered = answered || ok && m[0] == protocol.IdentityID
		}
		b.decoder.Losses = frame.Losses{}
		if answered {
			return true
		}
	}
	return false
}

// Outside a session the board comes to the speed of the host that hails it, from
// either to either, with the two ends' clocks up to 1.5 % apart (the emulated
// receiver bears 2 %). Hailing at its own speed does nothing.
func TestBoardComesToTheHostsSpeed(t *testing.T) {
	b := newBench(t, "")
	for _, clock := range []int{1000, 985, 1015} {
		for _, baud := range []int{protocol.BaudFast, protocol.BaudSlow, protocol.BaudSlow, protocol.BaudFast} {
			b.at(baud * clock / 1000)
			b.hail()
			require.True(t, b.hears(), "%d baud", baud*clock/1000)
		}
	}
	stats, err := b.Stats()
	require.NoError(t, err)
	require.Zero(t, stats.Resets)
}

// A few frames at the other speed do not have the board change.
func TestWithoutHailingTheSpeedStays(t *testing.T) {
	b := newBench(t, "")
	b.at(protocol.BaudSlow)
	require.False(t, b.hears())
	b.at(protocol.BaudFast)
	require.True(t, b.hears())
}

// In a session the speed stays, whatever comes; after Stop and after a failsafe the
// board can be hailed again.
func TestSpeedStaysInASession(t *testing.T) {
	b := newBench(t, "")
	b.configure(settings())
	b.drive(protocol.Drive{})
	b.at(protocol.BaudSlow)
	b.hail()
	b.at(protocol.BaudFast)
	require.NotZero(t, b.telemetry().Flags&protocol.TelemetryDriven)

	b.run(100 * millisecond) // the failsafe
	b.at(protocol.BaudSlow)
	b.hail()
	require.True(t, b.hears())

	b.at(protocol.BaudSlow)
	b.configure(settings())
	b.send(&protocol.Stop{})
	b.run(10 * millisecond)
	b.queue = nil
	b.at(protocol.BaudFast)
	b.hail()
	require.True(t, b.hears())
}

// Garbage outside a session may leave the board at either speed; whoever hails it is
// heard.
func TestHailAfterGarbage(t *testing.T) {
	random := rand.New(rand.NewPCG(17, 328))
	b := newBench(t, "")
	for range 20 {
		b.at([]int{protocol.BaudFast, protocol.BaudSlow, 115_200}[random.IntN(3)])
		b.sendBytes(garbage(random)[:1+random.IntN(400)])
		b.run(50 * millisecond)
		b.at([]int{protocol.BaudFast, protocol.BaudSlow}[random.IntN(2)])
		b.hail()
		require.True(t, b.hears())
	}
}

// Half speed, 333 frames a second: every edge and every time is right, nothing is
// lost, and each Drive is applied within 2.3 ms of the frame that it answers, which
// leaves the host 0.7 ms.
func TestTrafficAtHalfSpeed(t *testing.T) {
	b := newBench(t, "")
	b.at(protocol.BaudSlow)
	b.hail()
	require.True(t, b.hears())
	c := settings()
	c.TelemetryTicks = 3 * millisecond
	tr := startTraffic(b, c, 66_741.37, 48_048)
	tr.rounds(3_000 * millisecond)
	tr.requireExact()
	load, mean, longest := tr.figures()
	t.Logf("emulated, not checked on silicon: at 250 kbaud telemetry to drive applied %.3f ms (mean %.3f), interrupt load %.1f %%",
		1e3*longest, 1e3*mean, 100*load)
	require.LessOrEqual(t, longest, 2.5e-3)
	require.LessOrEqual(t, load, 0.25)
}
