package link

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

// pair opens a pseudo-terminal and a Port on its near end.
func pair(t *testing.T) (*os.File, *Port) {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err)
	port, err := Open(context.Background(), near.Name(), 500_000)
	require.NoError(t, err)
	require.NoError(t, near.Close())
	t.Cleanup(func() { far.Close() })
	return far, port
}

func readAll(t *testing.T, r io.Reader, n int) []byte {
	t.Helper()
	got := make([]byte, n)
	_, err := io.ReadFull(r, got)
	require.NoError(t, err)
	return got
}

func TestBytesBothWays(t *testing.T) {
	defer goleak.VerifyNone(t)
	far, port := pair(t)
	sent := make([]byte, 256) // every byte value: nothing is translated on the way
	for i := range sent {
		sent[i] = byte(i)
	}
	_, err := far.Write(sent)
	require.NoError(t, err)
	require.Equal(t, sent, readAll(t, port, len(sent)))
	_, err = port.Write(sent)
	require.NoError(t, err)
	require.Equal(t, sent, readAll(t, far, len(sent)))
	require.NoError(t, port.Close())
	require.NoError(t, port.Close(), "closing twice is harmless")
}

func TestQuietPortEndsTheRead(t *testing.T) {
	defer goleak.VerifyNone(t)
	_, port := pair(t)
	_, err := port.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	require.NotErrorIs(t, err, ErrHangUp)
	require.NoError(t, port.Close())
}

func TestHangUpIsNotSilence(t *testing.T) {
	defer goleak.VerifyNone(t)
	far, port := pair(t)
	_, err := far.Write([]byte("last"))
	require.NoError(t, err)
	require.Equal(t, []byte("last"), readAll(t, port, 4))
	require.NoError(t, far.Close())
	_, err = port.Read(make([]byte, 1))
	require.ErrorIs(t, err, ErrHangUp)
	_, err = port.Write([]byte("anyone?"))
	require.ErrorIs(t, err, ErrHangUp)
	require.NoError(t, port.Close())
}

func TestCloseSendsWhatIsQueued(t *testing.T) {
	defer goleak.VerifyNone(t)
	far, port := pair(t)
	for range 10 {
		_, err := port.Write([]byte("stop"))
		require.NoError(t, err)
	}
	require.NoError(t, port.Close())
	require.Equal(t, bytes.Repeat([]byte("stop"), 10), readAll(t, far, 40))
	_, err := port.Write([]byte("more"))
	require.ErrorIs(t, err, os.ErrClosed)
	_, err = port.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrClosed)
}

func TestMissingPort(t *testing.T) {
	_, err := Open(context.Background(), "/dev/no-such-port", 500_000)
	var open *OpenError
	require.ErrorAs(t, err, &open)
	require.ErrorContains(t, err, "plug the board in")
}

// stuck is a driver whose writes and reads end only when it is closed.
type stuck struct {
	closed chan struct{}
	once   sync.Once
}

func (s *stuck) Read([]byte) (int, error)  { <-s.closed; return 0, errors.New("closed") }
func (s *stuck) Write([]byte) (int, error) { <-s.closed; return 0, errors.New("closed") }
func (s *stuck) Close() error              { s.once.Do(func() { close(s.closed) }); return nil }

func TestStuckDriver(t *testing.T) {
	defer goleak.VerifyNone(t)
	port := newPort(&stuck{closed: make(chan struct{})}, nil, time.Millisecond)
	var err error
	for range 2 * pendingMax {
		if _, err = port.Write([]byte("x")); err != nil {
			break
		}
	}
	require.ErrorIs(t, err, ErrStalled)
	require.NoError(t, port.Close())
}

// flood gives bytes without end.
type flood struct{ stuck }

func (f *flood) Read(b []byte) (int, error) {
	select {
	case <-f.closed:
		return 0, errors.New("closed")
	default:
		return len(b), nil
	}
}

// What nothing reads is not kept: the newest of a flood is read, not the oldest.
func TestFloodIsNotKept(t *testing.T) {
	defer goleak.VerifyNone(t)
	far := &counting{flood: flood{stuck{closed: make(chan struct{})}}}
	port := newPort(far, nil, time.Second)
	require.Eventually(t, func() bool { return far.reads.Load() > 3*chunks }, 10*time.Second, time.Millisecond)
	first := make([]byte, 1)
	_, err := port.Read(first)
	require.NoError(t, err)
	require.NotZero(t, first[0], "the first chunk was dropped")
	require.NoError(t, port.Close())
}

// counting is a flood whose first chunk is of zeros, the others of ones.
type counting struct {
	flood
	reads atomic.Int64
}

func (c *counting) Read(b []byte) (int, error) {
	fill := byte(min(c.reads.Add(1)-1, 1))
	for i := range b {
		b[i] = fill
	}
	return c.flood.Read(b)
}

func TestNoAllocations(t *testing.T) {
	defer goleak.VerifyNone(t)
	port := newPort(&flood{stuck{closed: make(chan struct{})}}, nil, time.Second)
	buf := make([]byte, 512)
	require.Zero(t, testing.AllocsPerRun(1000, func() { _, _ = port.Read(buf) }))
	require.NoError(t, port.Close())
}
