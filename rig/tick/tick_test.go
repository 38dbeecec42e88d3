package tick

import (
	"testing"

	"github.com/stretchr/testify/require"
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

func TestBelieved(t *testing.T) {
	require.Equal(t, 0.005, Believed(0.005, 0.001))
	require.Equal(t, -0.011, Believed(-0.011, 0.001))
	require.Zero(t, Believed(0.001, 0.005), "not known better than it is large")
	require.Zero(t, Believed(-0.35, 0.02), "no clock is that far off: the computer stood still")
}
