package bridge

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

const millisecond = tickHz / 1000

// arrivals sends a byte from the board every 20 µs (500 kbaud) and gives how late
// each reached the host, in ticks.
func arrivals(t *testing.T, b *Bridge, bytes int) (late []int64) {
	t.Helper()
	sent := 0
	for tick := int64(0); len(late) < bytes; tick++ {
		if tick%320 == 0 && sent < bytes {
			b.FromBoard(tick, byte(sent))
			sent++
		}
		if b.Next() > tick {
			continue
		}
		for _, c := range b.ToHost(tick) {
			require.Equal(t, byte(len(late)), c, "in order, none lost")
			late = append(late, tick-int64(len(late))*320)
		}
	}
	return late
}

// A bridge that holds nothing back hands on with the next USB frame of 1 ms (USB
// 2.0, 8.4.3).
func TestFrames(t *testing.T) {
	kind, err := Find("frames")
	require.NoError(t, err)
	for _, l := range arrivals(t, New(kind, 7), 1000) {
		require.LessOrEqual(t, l, int64(millisecond))
	}
}

// A single byte waits for the latency timer, 62 do not (FTDI, AN232B-04).
func TestLatencyTimer(t *testing.T) {
	kind, err := Find("timer-16")
	require.NoError(t, err)
	b := New(kind, 7)
	b.FromBoard(100, 'x')
	require.GreaterOrEqual(t, b.due(), int64(100))
	require.LessOrEqual(t, b.due(), int64(100+16*millisecond))
	require.Empty(t, b.ToHost(b.due()-1))
	late := arrivals(t, New(kind, 7), 620)
	for _, l := range late[:500] {
		require.Less(t, l, int64(62*320+millisecond+1))
	}
}

// The computer does nothing in a stall, and nothing of what came meanwhile is lost.
func TestStall(t *testing.T) {
	kind, err := Find("frames")
	require.NoError(t, err)
	b := New(kind, 7)
	b.Stall(5*millisecond, 60*time.Millisecond)
	late := arrivals(t, b, 5000)
	most := int64(0)
	for _, l := range late {
		most = max(most, l)
	}
	require.Greater(t, most, int64(58*millisecond))
	require.LessOrEqual(t, late[4999], int64(millisecond))
}

// The same seed gives the same wire, another one another.
func TestSeeds(t *testing.T) {
	kind, err := Find("jitter")
	require.NoError(t, err)
	require.Equal(t, arrivals(t, New(kind, 1), 500), arrivals(t, New(kind, 1), 500))
	require.NotEqual(t, arrivals(t, New(kind, 1), 500), arrivals(t, New(kind, 2), 500))
}

// From the host bytes go out with the next frame.
func TestToBoard(t *testing.T) {
	kind, err := Find("far")
	require.NoError(t, err)
	b := New(kind, 3)
	b.FromHost(1_000, []byte("drive"))
	at := b.Next()
	require.Greater(t, at, int64(1_000+9*millisecond-1))
	require.LessOrEqual(t, at, int64(1_000+10*millisecond))
	require.Empty(t, b.ToBoard(at-1))
	require.Equal(t, "drive", string(b.ToBoard(at)))
	require.Equal(t, Never, b.Next())
}

func TestUnknownKind(t *testing.T) {
	_, err := Find("string")
	require.ErrorContains(t, err, `"string"`)
	require.ErrorContains(t, err, "timer-16")
}
