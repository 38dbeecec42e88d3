package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The longest silence is found by either clock, and over a wrap of the tick.
func TestLongestWaiting(t *testing.T) {
	var w waiting
	w.board(1<<32-32_000, 16_000_000)
	w.host(time.Hour)
	w.board(0, 16_000_000)
	w.host(time.Hour + 2*time.Millisecond)
	require.Equal(t, 2*time.Millisecond, w.longest)
	w.board(160_000_000, 16_000_000) // what was sent meanwhile is lost
	require.ErrorIs(t, w.failsafe(), ErrFailsafe)
	require.ErrorContains(t, w.failsafe(), "for 10.0 s")
	w.host(time.Hour + 12*time.Second) // what was sent meanwhile was kept
	require.ErrorContains(t, w.failsafe(), "for 12.0 s")
}
