package turned

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/pickup"
)

func fan() pickup.Params {
	return pickup.Params{
		Magnet: pickup.Magnet{Diameter: 0.004, Length: 0.002, Remanence: 1.2},
		Count:  1, Pattern: pickup.Same, Radius: 0.030, Axis: pickup.Gapwise,
		Pole: pickup.South, Placement: pickup.Rim, Gap: 0.0015,
		Sensor: pickup.Sensor{
			Kind: pickup.Unipolar, Normal: pickup.Gapwise,
			Operate: pickup.Point{Typical: 0.010, Worst: 0.012}, Release: pickup.Point{Typical: 0.007, Worst: 0.004},
		},
	}
}

// The width of each pulse is the predicted share of the turn, the pulses come
// as often as predicted.
func TestSteadySpeedGivesThePrediction(t *testing.T) {
	const speed = 150.0 // rad/s
	p := fan()
	for _, p.Count = range []int{1, 2, 3} {
		is, err := pickup.Predict(p)
		require.NoError(t, err)
		s, err := New(p, true, Stretch{0, speed})
		require.NoError(t, err)
		require.False(t, s.Idle(), "the shaft starts with a magnet at the sensor")
		_, high, ok := s.Next()
		require.True(t, ok && high)
		var last float64
		for i := range 20 {
			on, high, ok := s.Next()
			require.True(t, ok && !high, "low while a magnet is felt")
			off, high, ok := s.Next()
			require.True(t, ok && high)
			require.InEpsilon(t, is.Width*2*math.Pi/speed, off-on, 1e-9)
			if i > 0 {
				require.InEpsilon(t, 2*math.Pi/speed/float64(p.Count), on-last, 1e-9)
			}
			last = on
		}
	}
}

// Whatever the profile, the shaft's angle at an edge, summed up over time by
// small steps, is the angle of the edge.
func TestEdgesComeAtTheirAngles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var speeds []Stretch
		for range rapid.IntRange(1, 4).Draw(t, "stretches") {
			speeds = append(speeds, Stretch{
				rapid.Float64Range(0.1, 1).Draw(t, "time"), float64(rapid.IntRange(0, 100).Draw(t, "speed")),
			})
		}
		s := &Sensor{Pulses: []pickup.Pulse{{Operate: 1, Release: 1.5}}, Period: 2, Speeds: speeds}
		before := 0.0
		for k := range 10 {
			for _, angle := range []float64{1, 1.5} {
				time, _, ok := s.Next()
				if !ok {
					require.Zero(t, speeds[len(speeds)-1].Speed)
					return
				}
				require.GreaterOrEqual(t, time, before)
				require.InDelta(t, angle+2*float64(k), angleAt(speeds, time), 1e-9*(1+time))
				before = time
			}
		}
	})
}

// angleAt is the area under the profile up to a time.
func angleAt(speeds []Stretch, time float64) (angle float64) {
	speed := 0.0
	for _, s := range speeds {
		share := math.Min(1, time/s.Time)
		angle += share * s.Time * (speed + (s.Speed-speed)*share/2)
		speed = s.Speed
		if time -= s.Time; time <= 0 {
			return angle
		}
	}
	return angle + speed*time
}

func TestLevels(t *testing.T) {
	p := fan()
	p.Sensor.Kind, p.Gap = pickup.Latch, 0.0025
	p.Sensor.Operate, p.Sensor.Release = pickup.Point{Typical: 0.005, Worst: 0.009}, pickup.Point{Typical: -0.005, Worst: -0.009}
	for _, low := range []bool{false, true} {
		stuck, err := New(p, low, Stretch{0, 100})
		require.NoError(t, err)
		require.True(t, stuck.Stuck, "one pole sets a latch for good")
		require.Equal(t, !low, stuck.Idle())
		_, _, ok := stuck.Next()
		require.False(t, ok)

		off := &Sensor{Low: low}
		require.Equal(t, low, off.Idle())
	}
	p.Gap = -1
	_, err := New(p, false)
	require.Error(t, err)
}

// A coil gives nothing while it is turned slowly.
func TestSlowest(t *testing.T) {
	s := &Sensor{
		Pulses: []pickup.Pulse{{Operate: 1, Release: 1.5}}, Period: 2 * math.Pi,
		Slowest: 20, Speeds: []Stretch{{2, 40}},
	}
	time, _, ok := s.Next()
	require.True(t, ok)
	require.InDelta(t, 1+4*math.Pi, angleAt(s.Speeds, time), 1e-9, "the first pass at 20 rad/s or more, which is 10 rad on")
}

func BenchmarkNext(b *testing.B) {
	s, err := New(fan(), true, Stretch{1, 100})
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		s.Next()
	}
}

// Ten turns by hand bring a magnet past ten times, and no more.
func TestByHand(t *testing.T) {
	for _, turns := range []int{1, 2, 10} {
		s := &Sensor{Pulses: []pickup.Pulse{{Operate: 3, Release: 3.2}}, Period: 2 * math.Pi, Speeds: ByHand(turns)}
		edges, last := 0, 0.0
		for {
			time, _, ok := s.Next()
			if !ok {
				break
			}
			edges, last = edges+1, time
		}
		require.Equal(t, 2*turns, edges)
		require.Less(t, last, float64(turns)+1)
	}
}
