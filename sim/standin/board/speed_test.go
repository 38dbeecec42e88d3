package board

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
)

// answers reports whether the board says who it is at the host's speed.
func (h *host) answers() bool {
	h.send(&protocol.Identify{})
	for {
		message, err := h.r.Read()
		if err != nil {
			require.ErrorIs(h.t, err, os.ErrDeadlineExceeded)
			return false
		}
		if message[0] == protocol.IdentityID {
			return true
		}
	}
}

// The board comes to the speed of a host that hails it, but not in a session.
func TestBoardComesToTheHostsSpeed(t *testing.T) {
	h := newHost(t, Options{})
	require.NoError(t, h.b.SetBaud(protocol.BaudSlow))
	require.False(t, h.answers())
	require.NoError(t, h.w.Hail())
	require.True(t, h.answers())
	h.configure(config())
	require.NoError(t, h.b.SetBaud(protocol.BaudFast))
	require.NoError(t, h.w.Hail())
	require.NoError(t, h.b.SetBaud(protocol.BaudSlow))
	h.frames(3)
	require.Error(t, h.b.SetBaud(115_200))
}

// A byte takes twice as long at half the speed.
func TestHalfSpeedTakesTwiceAsLong(t *testing.T) {
	times := map[int]int64{}
	for _, baud := range []int{protocol.BaudFast, protocol.BaudSlow} {
		h := newHost(t, Options{})
		require.NoError(t, h.b.SetBaud(baud))
		require.NoError(t, h.w.Hail())
		require.True(t, h.answers())
		h.configure(config())
		m := h.frames(1)
		times[baud] = h.b.Now() - int64(m.Ticks) - composeTicks
	}
	require.Equal(t, 2*times[protocol.BaudFast], times[protocol.BaudSlow])
}
