package badlink_test

import (
	"context"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/internal/badlink"
	"govrig/rig/measure"
	"govrig/rig/procedure/hold"
	"govrig/rig/runlog"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

// boards are the virtual board and the firmware in the emulator, with the
// stand-in governor of the quick machine on their lines.
func boards(t *testing.T) map[string]func() far {
	m := quick(t)
	harness, err := emulator.Build("../../../firmware-notes/emulator")
	require.NoError(t, err)
	return map[string]func() far{
		"virtual": func() far { return newWatched(t, m).far },
		"emulated": func() far {
			g, err := governor.New(m.GovernorParams(emulator.TickHz), 0)
			require.NoError(t, err)
			b, err := emulator.Open(emulator.Options{
				Harness: harness, Firmware: "../../../firmware-notes/firmware/firmware.hex", Governor: g,
			})
			require.NoError(t, err)
			t.Cleanup(func() { b.Close() })
			return b
		},
	}
}

// open keeps the board on when the wire is closed.
type open struct{ far }

func (open) Close() error { return nil }

// damaged is a wire that turns bits over at full speed alone, both ways.
func damaged(b far) *badlink.Wire {
	bad := badlink.Fault{Kind: badlink.Flip, For: math.MaxInt32, Baud: protocol.BaudFast}
	back := bad
	back.ToBoard = true
	return badlink.New(open{b}, func() io.ReadWriteCloser { return open{b} }, rand.New(rand.NewPCG(1, 2)), bad, back)
}

// lossy loses bytes at full speed, one way, from the given read on.
func lossy(b far, from int, toBoard bool) *badlink.Wire {
	bad := badlink.Fault{Kind: badlink.Drop, From: from, For: 20, ToBoard: toBoard, Baud: protocol.BaudFast}
	return badlink.New(open{b}, nil, rand.New(rand.NewPCG(3, 4)), bad)
}

// A good wire stays at full speed, and nothing is said.
func TestGoodWireStaysFast(t *testing.T) {
	for name, board := range boards(t) {
		c, err := rig.Connect(context.Background(), open{board()}, nil, rig.Speeds[:]...)
		require.NoError(t, err, name)
		require.Equal(t, protocol.BaudFast, c.Baud, name)
		require.Empty(t, c.Sentence(), name)
	}
}

// A wire that carries full speed badly, or not at all, is slowed down, and that is
// said; the run over it is good, and its record tells the speed.
func TestBadWireIsSlowedDown(t *testing.T) {
	m := quick(t)
	for name, board := range boards(t) {
		for what, wire := range map[string]*badlink.Wire{
			"no answer":      damaged(board()),
			"telemetry lost": lossy(board(), 50, false),
			"drives lost":    lossy(board(), 50, true),
		} {
			c, err := rig.Connect(context.Background(), wire, nil, rig.Speeds[:]...)
			require.NoError(t, err, "%s, %s", name, what)
			require.Equal(t, protocol.BaudSlow, c.Baud, "%s, %s", name, what)
			require.Contains(t, c.Sentence(), "slowed down to 250000 baud: at 500000 baud ")
			if what != "no answer" {
				require.Regexp(t, `at 500000 baud \d+ of 500 messages were damaged or lost`, c.Sentence())
				require.Zero(t, c.Slowed.Err)
			}
			if run := map[string]string{"virtual": "drives lost", "emulated": "no answer"}; run[name] != what {
				continue // one run of each will do
			}
			dir := t.TempDir() + "/run"
			b := &execution.Bench{Machine: m, Board: wire, Where: name, Connection: c,
				Record: func(i runlog.Info) (*runlog.Writer, error) { return runlog.Create(dir, i) }}
			r, err := (&hold.Options{Time: 1}).Run(context.Background(), b)
			require.NoError(t, err, "%s, %s", name, what)
			require.Equal(t, measure.Pass, r.Result.Outcome, "%s, %s: %+v", name, what, r.Result)
			require.Contains(t, r.Result.Warnings, c.Sentence())
			t.Logf("%s, %s: loop delay at 250 kbaud %.3f ms", name, what, *r.Result.Find("loop_delay").Value)
			rec, err := runlog.Open(dir)
			require.NoError(t, err)
			require.Equal(t, protocol.BaudSlow, rec.Info.Baud)
			require.Equal(t, c.Sentence(), rec.Info.Slowed)
			require.EqualValues(t, 48_000, rec.Info.Settings.TelemetryTicks)
		}
	}
}

// A board that was left at half speed, as one is that opening the port does not
// restart, is found at full speed again, and the other way round.
func TestBoardLeftAtTheOtherSpeed(t *testing.T) {
	for name, board := range boards(t) {
		b := open{board()}
		for _, baud := range []int{protocol.BaudSlow, protocol.BaudFast, protocol.BaudSlow, protocol.BaudFast} {
			c, err := rig.Connect(context.Background(), b, nil, baud)
			require.NoError(t, err, "%s at %d", name, baud)
			require.Equal(t, baud, c.Baud, name)
			require.True(t, func() bool { trial := rig.Try(context.Background(), b, nil, baud); return trial.Clean() }(), name)
		}
	}
}

// Where half the speed is no better the board is used at the full one.
func TestSlowerIsNotAlwaysBetter(t *testing.T) {
	slow := badlink.Fault{Kind: badlink.Flip, For: math.MaxInt32, Baud: protocol.BaudSlow}
	fast := badlink.Fault{Kind: badlink.Drop, From: 50, For: 20, Baud: protocol.BaudFast}
	w := badlink.New(open{boards(t)["virtual"]()}, nil, rand.New(rand.NewPCG(5, 6)), slow, fast)
	c, err := rig.Connect(context.Background(), w, nil, rig.Speeds[:]...)
	require.NoError(t, err)
	require.Equal(t, protocol.BaudFast, c.Baud)
	require.Empty(t, c.Sentence())
}
