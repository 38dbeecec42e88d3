package tick

import (
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/physic"
	"pgregory.net/rapid"
)

func TestExtendAcrossWraps(t *testing.T) {
	var e Extender
	now := int64(0xFFFF_0000)
	for range 1000 { // 1000 frames a quarter of a wrap apart: 250 wraps
		require.Equal(t, now, e.Extend(uint32(now)))
		now += 1 << 30
	}
}

func TestExtendGoesBackALittle(t *testing.T) {
	var e Extender
	require.Equal(t, int64(5), e.Extend(5))
	require.Equal(t, int64(-3), e.Extend(0xFFFFFFFD))
}

func TestBefore24(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		now := rapid.Int64Range(1<<25, 1<<50).Draw(t, "now")
		age := rapid.Int64Range(0, 1<<24-1).Draw(t, "age")
		require.Equal(t, now-age, Before24(now, uint32(now-age)&0xFFFFFF))
	})
}

// A simulated host sees a board that is 0.43 % fast through delays of 0.5 ms
// and an occasional 30 ms.
func TestClockErrorIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	c := ClockError{Rate: 16 * physic.MegaHertz}
	_, _, ok := c.Estimate()
	require.False(t, ok)
	for i := range 60 * 500 {
		true_ := float64(i) * 0.002 // s of the host
		delay := 0.0005 + 0.0003*random.Float64()
		if random.IntN(50) == 0 {
			delay += 0.03
		}
		c.Add(int64(true_*1.0043*16e6), time.Duration((true_+delay)*1e9))
	}
	fast, uncertainty, ok := c.Estimate()
	require.True(t, ok)
	require.InDelta(t, 0.0043, fast, 0.00005) // 0.8 rpm at 16 000
	require.Less(t, uncertainty, 0.001)
	require.InDelta(t, 0.0043, fast, uncertainty)
}

func TestBelieved(t *testing.T) {
	require.Equal(t, 0.005, Believed(0.005, 0.001))
	require.Equal(t, -0.011, Believed(-0.011, 0.001))
	require.Zero(t, Believed(0.001, 0.005), "not known better than it is large")
	require.Zero(t, Believed(-0.35, 0.02), "no clock is that far off: the computer stood still")
}
