package badlink_test

import (
	"context"
	"io"
	"math/bits"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/internal/badlink"
	"govrig/sim/standin/board"
)

// counter is a board that says the number of each read, and keeps what it is
// told.
type counter struct {
	n      byte
	told   []byte
	closed bool
}

func (c *counter) Read(p []byte) (int, error) {
	c.n++
	return copy(p, []byte{c.n, c.n, c.n, c.n}), nil
}

func (c *counter) Write(p []byte) (int, error) {
	c.told = append(c.told, p...)
	return len(p), nil
}

func (c *counter) Close() error { c.closed = true; return nil }

// through gives what comes of a number of reads, and what the board was told
// of as many writes.
func through(t *testing.T, reads int, faults ...badlink.Fault) (heard, told []byte) {
	board := &counter{}
	w := badlink.New(board, nil, rand.New(rand.NewPCG(1, 2)), faults...)
	buf := make([]byte, 1<<16)
	for i := range reads {
		n, err := w.Read(buf)
		require.NoError(t, err)
		heard = append(heard, buf[:n]...)
		_, err = w.Write([]byte{byte(i + 1), byte(i + 1), byte(i + 1), byte(i + 1)})
		require.NoError(t, err)
	}
	return heard, board.told
}

func TestGoodWireChangesNothing(t *testing.T) {
	heard, told := through(t, 50)
	require.Equal(t, heard, told)
	require.Len(t, heard, 200)
}

// Each fault does what it is called, on its own way and in its own time.
func TestFaults(t *testing.T) {
	clean, _ := through(t, 50)
	for _, toBoard := range []bool{false, true} {
		at := func(kind badlink.Kind) (bad []byte) {
			heard, told := through(t, 50, badlink.Fault{Kind: kind, ToBoard: toBoard, From: 10, For: 5})
			if toBoard {
				heard, told = told, heard
			}
			require.Equal(t, clean, told, "%v: the other way is left alone", kind)
			require.Equal(t, clean[:36], heard[:36], "%v: nothing happens before its time", kind)
			return heard
		}
		dropped := at(badlink.Drop)
		require.True(t, slices.IsSorted(dropped))
		require.NotEqual(t, clean, dropped)
		require.Equal(t, 220, len(at(badlink.Duplicate)))

		flipped, changed := at(badlink.Flip), 0
		require.Len(t, flipped, 200)
		for i := range flipped {
			changed += bits.OnesCount8(flipped[i] ^ clean[i])
		}
		require.True(t, changed > 0 && changed <= 15, "%d bits", changed)

		late := at(badlink.Delay)
		require.True(t, slices.IsSorted(late), "a delay keeps the order")

		shuffled := at(badlink.Reorder)
		require.False(t, slices.IsSorted(shuffled))
		for i, c := range slices.Sorted(slices.Values(shuffled)) {
			require.EqualValues(t, i/4+1, c, "nothing is lost")
		}

		noisy := at(badlink.Noise)
		require.Greater(t, len(noisy), 200)
	}
}

func TestFlood(t *testing.T) {
	heard, told := through(t, 50, badlink.Fault{Kind: badlink.Flood, From: 10, For: 5})
	require.Greater(t, len(heard), 2_000)
	require.Len(t, told, 200)
}

func TestHangUp(t *testing.T) {
	w := badlink.New(&counter{}, nil, rand.New(rand.NewPCG(1, 2)), badlink.Fault{Kind: badlink.HangUp, From: 2})
	buf := make([]byte, 10)
	for range 2 {
		_, err := w.Read(buf)
		require.NoError(t, err)
	}
	_, err := w.Read(buf)
	require.ErrorIs(t, err, badlink.ErrHungUp)
	_, err = w.Write(buf)
	require.ErrorIs(t, err, badlink.ErrHungUp)
}

func TestReset(t *testing.T) {
	first, second := &counter{}, &counter{}
	w := badlink.New(first, func() io.ReadWriteCloser { return second }, rand.New(rand.NewPCG(1, 2)), badlink.Fault{Kind: badlink.Reset, From: 2})
	var heard []byte
	buf := make([]byte, 10)
	for range 4 {
		n, err := w.Read(buf)
		require.NoError(t, err)
		heard = append(heard, buf[:n]...)
	}
	require.Equal(t, []byte{1, 1, 1, 1, 2, 2, 2, 2, 1, 1, 1, 1, 2, 2, 2, 2}, heard)
	require.True(t, first.closed)
}

func TestSuspend(t *testing.T) {
	w := badlink.New(&counter{}, nil, rand.New(rand.NewPCG(1, 2)), badlink.Fault{Kind: badlink.Suspend, From: 1, For: 7})
	buf := make([]byte, 10)
	_, err := w.Read(buf)
	require.NoError(t, err)
	n, err := w.Read(buf)
	require.NoError(t, err)
	require.Equal(t, []byte{9, 9, 9, 9}, buf[:n], "what the board said meanwhile is lost")
}

// The faults of a seed are always the same.
func TestRandomIsOfItsSeed(t *testing.T) {
	draw := func() []badlink.Fault { return badlink.Random(rand.New(rand.NewPCG(3, 4)), badlink.Flip, 100) }
	require.Equal(t, draw(), draw())
	require.Equal(t, badlink.Flip, draw()[0].Kind)
}

// A host that was asleep for ten seconds finds the board in its safe state, and plays
// again what it was at; noise at connecting and a restart before it do no harm.
func TestWords(t *testing.T) {
	for name, c := range map[string]struct {
		fault badlink.Fault
		want  error
	}{
		"asleep":              {badlink.Fault{Kind: badlink.Suspend, From: 300, For: 5_000}, nil}, // played again
		"restarted":           {badlink.Fault{Kind: badlink.Reset, From: 300}, rig.ErrSilent},
		"unplugged":           {badlink.Fault{Kind: badlink.HangUp, From: 300}, badlink.ErrHungUp},
		"noise at connecting": {badlink.Fault{Kind: badlink.Noise, From: 0, For: 2}, nil},
		"restart by opening":  {badlink.Fault{Kind: badlink.Reset, From: 1}, nil},
	} {
		r := try(t, quick(t), rand.New(rand.NewPCG(5, 6)), c.fault)
		require.Empty(t, r.boards[0].unsafe, name)
		if c.want == nil {
			require.NoError(t, r.err, name)
		} else {
			require.ErrorIs(t, r.err, c.want, name)
		}
	}
}

// The watch on the board can tell: one that plays on without its host is found
// out.
func TestWatchFindsAnUnsafeBoard(t *testing.T) {
	w := newWatched(t, quick(t))
	session, err := rig.Open(context.Background(), w, rig.Settings{SafeStick: 1_100_000})
	require.NoError(t, err)
	require.EqualValues(t, protocol.BoardVirtual, session.Identity.Board)
	d := protocol.Drive{Flags: protocol.DrivePlay, EdgeTicks: uint32(w.Now()) + 100_000, PeriodTicks: 80_000, StickTicks: 24_000}
	buf := make([]byte, 512)
	for range 500 { // the board is driven behind the watch's back
		_, err := w.far.Write(frameOf(d.AppendTo(nil)))
		require.NoError(t, err)
		_, err = w.far.Read(buf)
		require.NotErrorIs(t, err, os.ErrDeadlineExceeded)
	}
	require.Contains(t, w.unsafe, "a pickup pulse without a host")
	require.Contains(t, w.unsafe, "a stick pulse that is not the safe one")
	require.Greater(t, w.Now(), int64(board.TickHz)/2)
}
