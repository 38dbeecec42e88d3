package link

import (
	"context"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"govrig/rig"
)

// A device that talks without end and without being asked is no rig board, and
// asking it comes to an end; whether or not its bytes can be taken for frames.
func TestAskAFloodingDevice(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(1, 2))
	for name, say := range map[string]func() byte{
		"noise":      func() byte { return byte(rng.Uint32()) },
		"one letter": func() byte { return 'U' },
		"zeros":      func() byte { return 0 },
	} {
		far, near, err := pty.Open()
		require.NoError(t, err)
		fd := int(far.Fd())
		require.NoError(t, unix.SetNonblock(fd, true))
		ctx, stop := context.WithCancel(context.Background())
		done := make(chan struct{})
		go func() {
			defer close(done)
			chunk := make([]byte, 512)
			for ctx.Err() == nil {
				for i := range chunk {
					chunk[i] = say()
				}
				if _, err := unix.Write(fd, chunk); err != nil { // nobody is there to take it
					time.Sleep(time.Millisecond)
				}
			}
		}()
		a := Ask(context.Background(), Device{Path: near.Name()})
		require.ErrorIs(t, a.Err, rig.ErrForeign, name)
		stop()
		<-done
		require.NoError(t, far.Close())
		near.Close()
	}
}
