package link

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"govrig/rig"
	virtual "govrig/sim/standin/board"
)

// talk is what a device says without being asked: a piece now and then.
type talk struct {
	every time.Duration
	say   func(r *rand.Rand) []byte
}

var talkers = map[string]talk{
	"text": {time.Millisecond, func(*rand.Rand) []byte { return []byte("temperature 21.5, humidity 48\r\n") }},
	"a receiver's sentences": {100 * time.Millisecond, func(r *rand.Rand) []byte {
		return fmt.Appendf(nil, "$XXPOS,%06d,4700.%03d,N,00800.%03d,E*%02X\r\n", r.IntN(240000), r.IntN(1000), r.IntN(1000), r.IntN(256))
	}},
	"noise": {time.Millisecond, func(r *rand.Rand) []byte {
		b := make([]byte, 40)
		for i := range b {
			b[i] = byte(r.Uint32())
		}
		return b
	}},
	"a flood of zeros": {0, func(*rand.Rand) []byte { return make([]byte, 512) }},
	"a dribble":        {200 * time.Millisecond, func(*rand.Rand) []byte { return []byte{'.'} }},
}

// talking gives the port of a device that talks.
func talking(t *testing.T, what talk) Device {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err)
	fd := int(far.Fd())
	require.NoError(t, unix.SetNonblock(fd, true))
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() {
		defer close(done)
		r := rand.New(rand.NewPCG(3, 4))
		for ctx.Err() == nil {
			if _, err := unix.Write(fd, what.say(r)); err != nil || what.every > 0 {
				time.Sleep(max(what.every, time.Millisecond)) // nobody takes it, or it is silent for a while
			}
		}
	}()
	require.NoError(t, near.Close())
	t.Cleanup(func() { stop(); <-done; far.Close() })
	return Device{Path: near.Name(), USB: true}
}

// echo says what it hears, as a wire from TX to RX does.
func echo(heard []byte, _ int) []byte { return heard }

// answers is the virtual board behind a pseudo-terminal.
func answers(t *testing.T) Device {
	b := virtual.New(virtual.Options{})
	said := make([]byte, 512)
	return device(t, func(heard []byte, baud int) []byte {
		_ = b.SetBaud(baud) // others than the firmware's are heard at none
		_, _ = b.Write(heard)
		n, _ := b.Read(said)
		return said[:n]
	})
}

// The right board is found among ports that talk in every way, one that is dead
// and one that echoes, without waiting for any of them; and each of these is
// called what it is, within ten seconds.
func TestRightBoardAmongTalkers(t *testing.T) {
	memory := filepath.Join(t.TempDir(), "board.json")
	neighbours := []Device{device(t, silent), device(t, echo)}
	for _, what := range talkers {
		neighbours = append(neighbours, talking(t, what))
	}
	right := answers(t)
	start := time.Now()
	remember(memory, neighbours[3], 0) // a talker was used last: another stands there now
	port, a, err := find(context.Background(), append(neighbours[:len(neighbours):len(neighbours)], right), memory)
	require.NoError(t, err)
	require.Equal(t, right, a.Device)
	require.NoError(t, port.Close())
	t.Logf("found after %v", time.Since(start))

	start = time.Now()
	all := AskAll(context.Background(), neighbours)
	t.Logf("told after %v", time.Since(start))
	require.ErrorIs(t, all[0].Err, rig.ErrNoAnswer)
	for _, a := range all[1:] {
		require.ErrorIs(t, a.Err, rig.ErrForeign)
		require.ErrorContains(t, a.Err, "something else talks on this port")
	}
}

// An answer gets no more time on a port on which bytes come without end than on
// a quiet one; the next question begins anew.
func TestTalkGivesAnAnswerNoMoreTime(t *testing.T) {
	for name, what := range talkers {
		if what.every == 0 {
			continue // whoever reads frames gives up a flood by the count of its bytes
		}
		port, err := open(context.Background(), talking(t, what).Path, 500_000, 60*time.Millisecond)
		require.NoError(t, err)
		b := make([]byte, 1)
		for range 2 {
			_, err = port.Write([]byte("?"))
			require.NoError(t, err)
			reads := 0
			for err = nil; err == nil && reads < 1<<20; reads++ {
				_, err = port.Read(b)
			}
			require.ErrorIs(t, err, os.ErrDeadlineExceeded, "%s: after %d reads", name, reads)
		}
		require.NoError(t, port.Close())
	}
}

// Asking ends with its context, whatever the port does.
func TestAskingATalkerStops(t *testing.T) {
	devices := []Device{device(t, silent)}
	for _, what := range talkers {
		devices = append(devices, talking(t, what))
	}
	ctx, stop := context.WithCancel(context.Background())
	asked := time.AfterFunc(300*time.Millisecond, stop)
	defer asked.Stop()
	start := time.Now()
	for _, a := range AskAll(ctx, devices) {
		if !errors.Is(a.Err, rig.ErrForeign) { // told before, of a flood
			require.ErrorIs(t, a.Err, context.Canceled)
		}
	}
	t.Logf("stopped after %v", time.Since(start)-300*time.Millisecond)
	_, _, err := find(ctx, devices, "")
	require.ErrorIs(t, err, context.Canceled)
}
