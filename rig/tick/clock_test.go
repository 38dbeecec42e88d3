package tick

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/physic"
)

// seen makes an estimate of a board that is fast by a share, from frames every
// 2 ms of board time that take delay(t) s; jump is what the host's clock has
// jumped by at true time t.
func seen(seconds, fast float64, delay, jump func(t float64) float64) *ClockError {
	c := &ClockError{Rate: 16 * physic.MegaHertz}
	newest := 0.
	for i := range int(seconds * 500) {
		t := float64(i) * 0.002 / (1 + fast)
		newest = math.Max(newest, t+delay(t)) // no frame overtakes another
		c.Add(int64(math.Round(float64(i)*32_000)), time.Duration((newest+jump(t))*1e9))
	}
	return c
}

func none(float64) float64 { return 0 }

func TestClockErrorIsFound(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	c := seen(60, 0.0043, func(float64) float64 {
		delay := 0.0005 + 0.0003*random.Float64()
		if random.IntN(50) == 0 {
			delay += 0.03
		}
		return delay
	}, none)
	fast, uncertainty, ok := c.Estimate()
	require.True(t, ok)
	require.InDelta(t, 0.0043, fast, 0.00005) // 0.8 rpm at 16 000
	require.Less(t, uncertainty, 0.0001)
	require.InDelta(t, 0.0043, fast, uncertainty)
	require.NoError(t, c.Doubt())
}

// An exact clock and one standstill of the host, for so long and at such a
// moment: no drift comes of it. A step of its clock is a step.
func TestOneStandstillIsNoDrift(t *testing.T) {
	for _, still := range []float64{0.005, 0.05, 0.3, 1.7} {
		for _, at := range []float64{0.3, 2, 6, 9.5} {
			stall := func(t float64) float64 {
				if t > at && t < at+still {
					return at + still - t
				}
				return 0.0002
			}
			step := func(t float64) float64 {
				if t > at {
					return still
				}
				return 0
			}
			for name, c := range map[string]*ClockError{"stall": seen(10, 0, stall, none), "step": seen(10, 0, none, step)} {
				fast, uncertainty, ok := c.Estimate()
				if ok {
					require.LessOrEqual(t, math.Abs(fast), uncertainty, "%s of %v s at %v s", name, still, at)
				}
				require.True(t, ok || still > 1, "%s of %v s at %v s", name, still, at)
				require.Zero(t, Believed(fast, uncertainty))
			}
		}
	}
}

// A drift that changes in the run is doubtful, not averaged; nearly the same is
// known.
func TestChangingDriftIsDoubtful(t *testing.T) {
	bent := func(by float64) *ClockError {
		return seen(30, 0, none, func(t float64) float64 { return by * math.Max(0, t-15) })
	}
	_, _, ok := bent(0.01).Estimate()
	require.False(t, ok)
	require.ErrorIs(t, bent(0.01).Doubt(), ErrDoubtful)
	require.ErrorContains(t, bent(0.01).Doubt(), "changed in the run")
	standing := bent(0.01)
	standing.Standing = true
	require.NoError(t, standing.Doubt(), "an emulated board stands still now and then")
	_, _, ok = bent(0.0001).Estimate()
	require.True(t, ok)
	require.NoError(t, bent(0.0001).Doubt())
}

// A clock at half the speed is no board's clock, and one 1.8 % off is.
func TestHalfSpeedIsWrongAtOnce(t *testing.T) {
	for fast, wrong := range map[float64]bool{-0.5: true, -0.03: true, 0.03: true, 0.018: false, -0.018: false, 0: false} {
		low, high, ok := seen(2, fast, none, none).Bounds()
		require.True(t, ok)
		require.Equal(t, wrong, Wrong(low, high), "%v: %v to %v", fast, low, high)
		require.Equal(t, !wrong, Right(low, high), "%v: %v to %v", fast, low, high)
		require.InDelta(t, fast, (low+high)/2, 1e-6)
	}
	require.ErrorContains(t, seen(5, -0.5, none, none).Doubt(), "-50.0 % off")
	_, _, ok := seen(0.3, -0.5, none, none).Bounds()
	require.False(t, ok, "too early to tell")
}

// Memory does not grow with the run, and what is known becomes surer.
func TestLongRunTakesNoMoreMemory(t *testing.T) {
	c := seen(3600, 0.0001, none, none)
	require.LessOrEqual(t, cap(c.windows), 2*windowsMax)
	fast, uncertainty, ok := c.Estimate()
	require.True(t, ok)
	require.Less(t, uncertainty, 1e-6)
	require.InDelta(t, 0.0001, fast, uncertainty)
}
