package gallery

import (
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	healthySeeds = 12
	sickSeeds    = 2
)

// Each healthy specimen keeps its margins by analysis, and holds its first
// setting within 0.3 % under either load, coupled without a rig.
func TestHealthySpecimens(t *testing.T) {
	names := map[string]bool{}
	for seed := range uint64(healthySeeds) {
		s, err := NewHealthy(seed, tickRate)
		require.NoError(t, err)
		names[s.Member.About] = true
		require.GreaterOrEqual(t, s.Margins.Phase, LeastPhase)
		require.GreaterOrEqual(t, s.Margins.Gain, LeastGain)
		require.LessOrEqual(t, s.wanted()/(2*3.1416)*float64(s.Wiring.PulsesPerTurn), 2000.0)
		r := newRun(s.Machine, s.Member)
		r.settle(16)
		for _, pitch := range []float64{float64(s.Machine.LoadStep.CollectiveLow), float64(s.Machine.LoadStep.CollectiveHigh)} {
			r.collective = pitch
			r.fly(8)
			mean, low, high := r.over(3)
			require.InEpsilon(t, s.wanted(), mean, 0.003, "seed %d: %s", seed, s.Member.About)
			require.Less(t, high-low, 0.02*mean, "seed %d: %s", seed, s.Member.About)
		}
	}
	require.Len(t, names, healthySeeds, "no two are alike")
}

// A specimen is the same each time.
func TestSpecimenIsTheSameEveryTime(t *testing.T) {
	a, err := NewHealthy(7, tickRate)
	require.NoError(t, err)
	b, err := NewHealthy(7, tickRate)
	require.NoError(t, err)
	require.Equal(t, a.Machine.Text, b.Machine.Text)
	require.Equal(t, a.Member.About, b.Member.About)
	require.Equal(t, a.Margins, b.Margins)
}

// Sick specimens are of every kind but a few, and those that hunt do: the swing
// of the speed is above 2 % coupled without a rig, where no healthy one's is.
func TestSickSpecimens(t *testing.T) {
	for _, kind := range Kinds() {
		for seed := range uint64(sickSeeds) {
			s, err := NewSick(kind, seed, tickRate)
			require.NoError(t, err)
			truth := s.New(0).Truth(kind, s.wanted(), s.points[0].ThrottlePulse)
			sick(t, s, truth)
		}
	}
}

// sick holds a specimen's truth, and what it does, against its kind.
func sick(t *testing.T, s *Specimen, truth Truth) {
	switch s.Member.Kind {
	case Hunts:
		r := newRun(s.Machine, s.Member)
		r.settle(20)
		mean, low, high := r.over(4)
		require.Greater(t, high-low, 0.02*mean, s.Member.Name)
	case CountsDouble, CountsHalf:
		require.NotEqual(t, 1.0, truth.Reads)
	case OtherPolarity, WideOnly:
		require.False(t, truth.Hears)
	case NotGoverning:
		require.False(t, truth.Governs)
	case TwoThrottles:
		r := newRun(s.Machine, s.Member)
		r.settle(20)
		mean, low, high := r.over(4)
		require.Greater(t, high-low, 0.005*mean, s.Member.Name)
	case ShortTravel:
		require.Less(t, truth.Opens, 0.91)
	case OpensOnStickLoss:
		require.Equal(t, Opens, truth.StickLost.Does)
	case OpensOnLoss, HoldsOnLoss, HoldsThenOpens:
		require.False(t, truth.PickupLost.Does.Safe(true))
	case ClosesSlowly:
		require.Greater(t, truth.PickupLost.Closed, 5.0)
	case HoldsStick:
		require.False(t, truth.StickLost.Does.Safe(true))
	case LocksHalf:
		require.False(t, truth.DoubledPulses.Does.Safe(false))
	case StaysOpen:
		require.False(t, truth.MissingBursts.Does.Safe(false))
	case Droops:
		light, heavy := s.Wiring.share(s.points[0].ThrottlePulse), s.Wiring.share(s.points[1].ThrottlePulse)
		require.Greater(t, truth.Droop*(heavy-light), 0.029*s.wanted())
	case SlowIntegral:
		require.Greater(t, truth.IntegralTime, 2.9)
	case DeadBand:
		require.Greater(t, truth.DeadBand, 0.014*s.wanted())
	case ThreeSpeeds, SelectDead:
		require.NotEqual(t, Straight, truth.Select)
	case ArmsHigh:
		require.Greater(t, truth.EngagesAt, 0.6)
	case Jitters:
		require.Positive(t, truth.Jitter*truth.Dropped)
	case WindsUp:
		require.True(t, truth.Unbounded)
	case SlowSpool:
		require.Greater(t, 0.75*s.wanted()/truth.SpoolRate, 31.0)
	default:
		t.Errorf("%s: no test of what is true of it", s.Member.Kind)
	}
}
