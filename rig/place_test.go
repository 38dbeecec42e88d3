package rig

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// kinked are passes whose spacing changes by so much from each to the next, up to
// the one at which an engine that ran free takes up its rotor again.
func kinked(count, at int, spacing, change float64) (c coming) {
	moment := 0.0
	for n := range count {
		c.add(moment)
		if n < at {
			spacing += change
		}
		moment += spacing
	}
	return c
}

// A drive that plays two passes meets them and the one before, wherever the
// spacing has its kink; with three it is off by no more than a third of the third
// difference, the remainder x(x−2)(x−3)/6 of a parabola at 1 (any text-book of
// interpolation).
func TestTrainMeetsWhatIsPlayed(t *testing.T) {
	const spacing, change = 15_600.0, -70.0
	for at := range 7 {
		for _, played := range []int{1, 2, 3} {
			c := kinked(9, at, spacing, change)
			c.from, c.until = c.when[2]+1, c.when[2+played]+1
			train := c.train()
			for n := 2; n <= 2+played; n++ {
				off := c.when[n] - train.at(n)
				if played < 3 {
					require.InDelta(t, 0, off, 1e-6, "%d played, kink at %d, pass %d", played, at, n)
				}
				require.LessOrEqual(t, off*off, change*change/9+1e-6, "%d played, kink at %d, pass %d", played, at, n)
			}
		}
	}
}

// A drive lasts until the answer to the next frame, or as long as news has lately
// been late.
func TestHowLongADriveLasts(t *testing.T) {
	a := answers{delay: 18_000, interval: 32_000, oldest: 32_000}
	require.Equal(t, 32_000.0, a.lasts())
	a.oldest = 96_000
	require.Equal(t, 78_000.0, a.lasts())
}
