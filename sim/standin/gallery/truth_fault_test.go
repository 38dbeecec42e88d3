package gallery

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// held is every member that holds the first setting of the medium machine with the
// stick at 60 %, after it has settled under the light load.
func held(t *testing.T, do func(r *run, truth Truth)) {
	m := medium(t)
	for _, member := range Members() {
		r := newRun(m, member)
		want := float64(m.Speeds[0].HeadSpeed) * m.Ratio()
		truth := truthOf(member, r.w, want)
		if !truth.Governs || !truth.Hears || truth.EngagesAt > 0.6 || truth.Reads < 1 || member.Kind == Hunts || member.Kind == TwoThrottles {
			continue
		}
		r.settle(16 + 30*math.Max(0, 1-truth.SpoolRate/r.w.SpoolRate))
		do(r, truth)
	}
}

// What each does without pickup pulses, and when.
func TestPickupLost(t *testing.T) {
	held(t, func(r *run, truth Truth) {
		name, before := r.g.p.law, r.share()
		r.lost = true
		lost := r.tick
		r.forget()
		r.fly(0.5 + truth.PickupLost.Closed*1.2)
		switch truth.PickupLost.Does {
		case Closes:
			require.Zero(t, r.share(), "%T", name)
			at := -1.0
			for i := len(r.widths) - 1; i >= 0; i-- {
				if r.widths[i] > 0 && math.Abs(float64(r.widths[i])/tickRate-r.w.Closed) > 2e-6 {
					break
				}
				at = float64(r.rises[i]-lost) / tickRate
			}
			late := truth.PickupLost.Closed + 3/truth.FrameRate + 0.02
			require.LessOrEqual(t, at, late, "%T", name)
			require.Greater(t, at, 0.2*truth.PickupLost.Closed, "%T", name)
		case Holds:
			require.InDelta(t, before, r.share(), 0.02, "%T", name)
			if truth.Kind == HoldsThenOpens {
				r.fly(5)
				require.Equal(t, 1.0, r.share())
			}
		case Opens:
			require.Greater(t, r.share(), before+0.2, "%T", name)
		}
	})
}

// After half a second of doubled pulses the speed is the wanted one, or half of
// it, as told.
func TestDoubledPulses(t *testing.T) {
	held(t, func(r *run, truth Truth) {
		before, _, _ := r.over(1)
		r.doubled = true
		r.fly(0.5)
		r.doubled = false
		r.fly(10)
		after, _, _ := r.over(2)
		if truth.DoubledPulses.Does == HalfSpeed {
			require.InDelta(t, 0.5, after/before, 0.03)
		} else {
			require.InDelta(t, 1, after/before, 0.02, "%v", truth.Kind)
		}
	})
}

// After five bursts of six missing pulses the speed is the wanted one, or the
// throttle stays full, as told.
func TestMissingBursts(t *testing.T) {
	held(t, func(r *run, truth Truth) {
		before, _, _ := r.over(1)
		for range 5 {
			r.drop = 6
			r.fly(0.15)
		}
		r.fly(8)
		after, _, _ := r.over(2)
		if truth.MissingBursts.Does == FullOpen {
			require.Equal(t, 1.0, r.share())
			require.Greater(t, after, 1.2*before)
		} else {
			require.InDelta(t, 1, after/before, 0.02, "%v", truth.Kind)
		}
	})
}

// A stick lead that is pulled closes the throttle, or nothing happens.
func TestStickLost(t *testing.T) {
	held(t, func(r *run, truth Truth) {
		before := r.share()
		r.stick = math.NaN()
		r.fly(1)
		switch truth.StickLost.Does {
		case Closes:
			require.Zero(t, r.share(), "%v", truth.Kind)
		case Opens:
			require.Equal(t, 1.0, r.share(), "%v", truth.Kind)
		default:
			require.InDelta(t, before, r.share(), 0.05, "%v", truth.Kind)
		}
	})
}

// What each holds: the wanted speed over what it reads of one, within half of
// its dead band, its droop, or 0.3 %; by its select line.
func TestHeldSpeeds(t *testing.T) {
	held(t, func(r *run, truth Truth) {
		want := float64(r.m.Speeds[0].HeadSpeed) * r.m.Ratio()
		wide := 0.003*want + truth.DeadBand/2*1.1
		switch {
		case truth.Select == NoSelect:
			want = middle(r.w)
		case truth.Settings == 3:
			want = middle(r.w) // its second, for a select pulse in the middle third
		}
		r.fly(15)
		mean, _, _ := r.over(2)
		if truth.Droop > 0 {
			share := r.share()
			require.InDelta(t, want-truth.Droop*(share-0.35), mean, 0.003*want)
			return
		}
		require.InDelta(t, want/truth.Reads, mean, wide, "%v", truth.Kind)
	})
}
