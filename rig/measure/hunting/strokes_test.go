package hunting

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// thrown is an engine whose throttle is thrown from end to end at uneven moments,
// about every period, s: the speed rises by slope, rpm/s, while it is open and falls
// as fast while it is shut. From pause on the throttle rests in the middle for a
// second.
func thrown(seed uint64, period, slope, pause float64) (speed, throttle measure.Series) {
	rng := rand.New(rand.NewPCG(seed, 7))
	y, open, until := 8000.0, false, 0.0
	for i := range int(8 * rate) {
		at := float64(i) / rate
		if at >= until {
			open, until = !open, at+period/2*(0.4+1.2*rng.Float64())
		}
		u := 0.0
		if open {
			u = 1
		}
		if at > pause && at < pause+1 {
			u = 0.5
		}
		y += slope * (2*u - 1) / rate
		y += (8000 - y) * 2 / rate
		speed.T, speed.Y = append(speed.T, at), append(speed.Y, y)
		throttle.T, throttle.Y = append(throttle.T, at), append(throttle.Y, u)
	}
	return speed, throttle
}

// A throttle that is thrown to and fro at uneven moments hunts, though no line stands
// out of the spectrum; not where the speed does not go with it, where it pauses, nor
// where it goes less far.
func TestThrownToAndFro(t *testing.T) {
	for seed := range uint64(10) {
		speed, throttle := thrown(seed, 0.3, 4000, math.Inf(1))
		f := Strokes(speed, throttle)
		require.Equal(t, Sustained, f.Kind, "seed %d: %+v", seed, f)
		require.InEpsilon(t, 1/0.3, f.Frequency, 0.15)
		low, high := speed.Extent()
		require.Greater(t, f.Swing, 0.2*(high-low))
		require.LessOrEqual(t, f.Swing, high-low)

		calm, _ := thrown(seed, 0.3, 100, math.Inf(1))
		require.False(t, Strokes(calm, throttle).Hunting())
		require.False(t, Strokes(thrown(seed, 0.3, 4000, 4)).Hunting())
		for i, share := range throttle.Y {
			throttle.Y[i] = 0.3 + 0.34*share
		}
		require.False(t, Strokes(speed, throttle).Hunting())
	}
}

// What a governor does about an engine that is rough, noise through a loop with a
// damping of 0.3 and now and then as far as a stroke of hunting, is none.
func TestAnswersToARoughEngineAreNoStrokes(t *testing.T) {
	for seed := range uint64(50) {
		rng := rand.New(rand.NewPCG(seed, 8))
		coloured := resonance(rng, 1.5+2*rng.Float64(), 0.3)
		var speed, throttle measure.Series
		for i := range int(8 * rate) {
			at, x := float64(i)/rate, coloured()
			speed.T, speed.Y = append(speed.T, at), append(speed.Y, 8000+150*x)
			throttle.T, throttle.Y = append(throttle.T, at), append(throttle.Y, math.Max(0, math.Min(1, 0.5-0.12*x)))
		}
		require.False(t, Strokes(speed, throttle).Hunting(), "seed %d", seed)
	}
}
