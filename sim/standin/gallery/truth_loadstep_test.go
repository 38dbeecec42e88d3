package gallery

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the load step of the medium machine's first setting does to some members that
// have settled for a minute, coupled without a rig: the greatest deviation from
// the speed before, in % of the wanted speed, and the time until the speed is
// back to within 1 % of it about its end, s. rig/gallery holds the procedure
// against these.
func TestLoadSteps(t *testing.T) {
	for _, c := range []struct {
		member            Member
		dip, back, within float64
	}{
		{pidMember, -2.86, 1.5, 0.1},
		{lockoutMember, -3.0, 1.4, 0.1},
		{slowIntegralMember, -3.60, 9.1, 0.8}, // it comes in slowly, through the engine's unrest
	} {
		m := medium(t)
		r := newRun(m, c.member)
		r.settle(60)
		before, _, _ := r.over(2)
		from := len(r.speeds)
		r.collective = float64(m.LoadStep.CollectiveHigh)
		r.fly(40)
		end, _, _ := r.over(2)
		want := float64(m.Speeds[0].HeadSpeed) * m.Ratio()
		last, dip := 0, 0.0
		for i, speed := range r.speeds[from:] {
			if math.Abs(speed-end) > 0.01*want {
				last = i
			}
			dip = min(dip, 100*(speed-before)/want)
		}
		require.InDelta(t, c.dip, dip, 0.2, c.member.Name)
		require.InDelta(t, c.back, float64(last)*dt, c.within, c.member.Name)
	}
}

// A governor with two throttles swings for ever by more than the band in which it
// keeps the one it has, and one that does not open fully never does, however large
// the load.
func TestLimitsOfTheThrottle(t *testing.T) {
	m := medium(t)
	r := newRun(m, relayMember)
	r.settle(20)
	mean, low, high := r.over(5)
	require.Greater(t, high-low, 0.01*mean)
	r = newRun(m, shortTravelMember)
	r.settle(20)
	r.collective = 0.3
	r.forget()
	r.fly(3)
	most := 0.0
	for _, width := range r.widths {
		most = max(most, r.w.share(float64(width)/tickRate))
	}
	require.InDelta(t, r.g.Truth(ShortTravel, 1, 1).Opens, most, 1e-3)
}
