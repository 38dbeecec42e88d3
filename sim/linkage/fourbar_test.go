package linkage

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/bound"
)

const deg = math.Pi / 180

// bench is a set-up of our own: 15 mm arms, 60 mm apart, a 13 mm barrel.
func bench() Params {
	return Params{
		ServoArm: 0.015, CarbArm: 0.015, Pivots: 0.060, Rod: 0.060,
		ServoMid: 90 * deg, Travel: 40 * deg, CarbOpen: 130 * deg,
		Barrel: Barrel{Diameter: 0.013, Bore: 0.0085, Hole: 0.0085},
	}
}

// Norton, Design of Machinery, Example 4-1: a 40, b 120, c 80, d 100 mm, θ2
// 40°. The book prints θ4 57.33° and -98.01°, θ3 20.30° and -60.98° (from
// memory); the finer digits solve the same loop closure by bisection. The
// tolerance is half of the last digit.
func TestNortonExample(t *testing.T) {
	p := bench()
	p.ServoArm, p.Rod, p.CarbArm, p.Pivots = 0.040, 0.120, 0.080, 0.100
	cases := map[string]struct {
		crossed   bool
		carb, rod float64
	}{
		"open":    {false, 57.324880, 20.297883},
		"crossed": {true, -98.004964, -60.977967},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p.Crossed = c.crossed
			l := newUnchecked(p)
			require.InDelta(t, 2.5, l.k1, 1e-12)
			require.InDelta(t, 1.25, l.k2, 1e-12)
			require.InDelta(t, 0.5625, l.k3, 1e-12)
			pose, err := l.Pose(40 * deg)
			require.NoError(t, err)
			require.InDelta(t, c.carb, degrees(pose.Carb), 5e-7)
			require.InDelta(t, c.rod, degrees(pose.Rod), 5e-7)
		})
	}
}

// Three-point synthesis through Freudenstein's equation: the linkage that was
// designed for (45, 60), (90, 80), (135, 100)° must pass through them. The
// question is posed on a mechanism-simulator page that cites Freudenstein; K
// are from solving its three linear equations, the lengths from K, so they
// carry six digits.
func TestThreePointSynthesis(t *testing.T) {
	p := bench()
	p.ServoArm, p.Rod, p.CarbArm, p.Pivots = 0.113497, 1.050144, 0.244311, 1
	l := newUnchecked(p)
	require.InDelta(t, 8.81077823, l.k1, 1e-4)
	require.InDelta(t, 4.09315189, l.k2, 1e-4)
	require.InDelta(t, -0.54516783, l.k3, 1e-4)
	for in, out := range map[float64]float64{45: 60, 90: 80, 135: 100} {
		pose, err := l.Pose(in * deg)
		require.NoError(t, err)
		require.InDelta(t, out, degrees(pose.Carb), 1e-3)
	}
}

// Arms of different length, both square to the line between the pivots at mid
// travel: 10 and 12.5 mm, 60 mm apart. Expected angles solve the loop closure
// by bisection (own computation, no published table).
func TestUnequalArms(t *testing.T) {
	p := bench()
	p.ServoArm, p.CarbArm = 0.010, 0.0125
	p.Rod = p.SquareRod()
	p.Travel = 30 * deg
	require.InDelta(t, math.Sqrt(60*60+2.5*2.5)/1000, p.Rod, 1e-15)
	l, err := New(p)
	require.NoError(t, err)
	want := map[float64]float64{60: 66.488545, 75: 78.064117, 90: 90, 105: 101.963541, 120: 113.642273}
	for in, out := range want {
		pose, err := l.Pose(in * deg)
		require.NoError(t, err)
		require.InDelta(t, out, degrees(pose.Carb), 5e-7)
	}
	open, closed := l.Throws()
	require.InDelta(t, 23.642273, degrees(open), 5e-7)
	require.InDelta(t, 23.511455, degrees(closed), 5e-7)
	require.InDelta(t, (23.642273-23.511455)/((23.642273+23.511455)/2), l.Asymmetry(), 1e-7)
	mid, err := l.At(0)
	require.NoError(t, err)
	require.InDelta(t, 10/12.5, mid.Slope, 1e-12)
}

func TestSquareRodStandsBothArmsSquare(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyParams(t)
		p.Rod = p.SquareRod()
		pose, err := newUnchecked(p).Pose(90 * deg)
		require.NoError(t, err)
		want := 90.0
		if p.Crossed {
			want = -90
		}
		require.InDelta(t, want, degrees(pose.Carb), 1e-6)
		require.InDelta(t, p.ServoArm/p.CarbArm, math.Abs(pose.Slope), 1e-9)
	})
}

// A parallelogram copies the angle, whatever its size: opposite sides of a
// parallelogram stay parallel (Euclid I.34).
func TestParallelogramCopies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyParams(t)
		p.Crossed = false
		p.CarbArm, p.Rod = p.ServoArm, p.Pivots
		in := rapid.Float64Range(5, 175).Draw(t, "servo") * deg
		pose, err := newUnchecked(p).Pose(in)
		require.NoError(t, err)
		require.InDelta(t, in, pose.Carb, 1e-9)
		require.InDelta(t, 1, pose.Slope, 1e-6)
	})
}

func TestSlopeIsTheDerivative(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.Float64Range(30, 150).Draw(t, "servo") * deg
		slopeIsDerivative(t, newUnchecked(anyParams(t)), in)
	})
}

// Near a dead centre the slope is 17 and bends so much that a plain central
// difference is not good enough to check it by.
func TestSlopeNearADeadCentre(t *testing.T) {
	p := bench()
	p.Pivots, p.Crossed = 0.2, false
	p.ServoArm, p.CarbArm, p.Rod = p.Pivots*0.453125, p.Pivots*0.1171875, p.Pivots*0.76953125
	slopeIsDerivative(t, newUnchecked(p), 30.984375*deg)
}

// slopeIsDerivative holds the slope against Richardson's extrapolation of
// central differences (Press et al., Numerical Recipes, section 5.7, from
// memory).
func slopeIsDerivative(t require.TestingT, l *Linkage, in float64) {
	at, err := l.Pose(in)
	if err != nil || at.Transmission < 10*deg {
		return
	}
	var central [2]float64
	for i, h := range []float64{1e-5, 2e-5} {
		before, err1 := l.Pose(in - h)
		after, err2 := l.Pose(in + h)
		if err1 != nil || err2 != nil {
			return
		}
		central[i] = (after.Carb - before.Carb) / (2 * h)
	}
	require.InDelta(t, at.Slope, (4*central[0]-central[1])/3, 1e-6)
}

// Over its reachable range the output has no jump: between neighbours it moves
// no further than the steeper of the two slopes, with room for its curvature.
func TestOutputIsContinuous(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := newUnchecked(anyParams(t))
		const step = 0.05 * deg
		last, err := l.Pose(0)
		for i := 1; i <= 3600; i++ {
			pose, next := l.Pose(float64(i) * step)
			if err == nil && next == nil && last.Transmission > 5*deg && pose.Transmission > 5*deg {
				steep := math.Max(math.Abs(last.Slope), math.Abs(pose.Slope))
				require.LessOrEqual(t, math.Abs(pose.Carb-last.Carb), (1.2*steep+0.02)*step)
			}
			last, err = pose, next
		}
	})
}

// The three bars must close the loop: the rod's two ends are a rod apart.
func TestLoopCloses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyParams(t)
		in := rapid.Float64Range(-180, 180).Draw(t, "servo") * deg
		pose, err := newUnchecked(p).Pose(in)
		if err != nil {
			return
		}
		x := p.Pivots + p.CarbArm*math.Cos(pose.Carb) - p.ServoArm*math.Cos(in)
		y := p.CarbArm*math.Sin(pose.Carb) - p.ServoArm*math.Sin(in)
		require.InDelta(t, p.Rod, math.Hypot(x, y), 1e-9*p.Rod)
	})
}

func TestOutOfReach(t *testing.T) {
	for rod, short := range map[float64]bool{0.030: true, 0.090: false} {
		p := bench()
		p.Rod = rod
		_, err := New(p)
		var reach *ReachError
		require.ErrorAs(t, err, &reach)
		require.Equal(t, short, reach.TooShort)
	}
}

// The rod reaches at both ends but not between, where the servo arm points at
// the carburettor.
func TestOutOfReachBetweenTheEnds(t *testing.T) {
	p := bench()
	p.ServoMid, p.Travel, p.Rod = 0, 60*deg, 0.062
	_, err := New(p)
	var reach *ReachError
	require.ErrorAs(t, err, &reach)
	require.Zero(t, reach.ServoAngle)
}

// A rod as long as the servo's ball is from the pivot, plus the arm, stretches
// out in line with it.
func TestToggle(t *testing.T) {
	p := bench()
	end := p.ServoMid + p.Travel
	away := math.Sqrt(p.ServoArm*p.ServoArm + p.Pivots*p.Pivots - 2*p.ServoArm*p.Pivots*math.Cos(end))
	p.Rod = (away - p.CarbArm) * (1 + 1e-15)
	_, err := newUnchecked(p).Pose(end)
	var toggle *ToggleError
	require.ErrorAs(t, err, &toggle)
	require.InDelta(t, end, toggle.ServoAngle, 1e-12)
}

func TestValidateNamesTheField(t *testing.T) {
	cases := map[string]func(*Params){
		"ServoArm":        func(p *Params) { p.ServoArm = 0 },
		"CarbArm":         func(p *Params) { p.CarbArm = math.NaN() },
		"Rod":             func(p *Params) { p.Rod = -1 },
		"Pivots":          func(p *Params) { p.Pivots = p.ServoArm },
		"|Travel|":        func(p *Params) { p.Travel = 0 },
		"ServoMid":        func(p *Params) { p.ServoMid = 4 },
		"CarbOpen":        func(p *Params) { p.CarbOpen = 4 },
		"Barrel.Bore":     func(p *Params) { p.Barrel.Bore = 0 },
		"Barrel.Hole":     func(p *Params) { p.Barrel.Hole = 0 },
		"Barrel.Diameter": func(p *Params) { p.Barrel.Diameter = p.Barrel.Bore },
	}
	require.NoError(t, bench().Validate())
	for field, spoil := range cases {
		p := bench()
		spoil(&p)
		_, err := New(p)
		var fault *bound.Error
		require.ErrorAs(t, err, &fault)
		require.Equal(t, field, fault.Field)
		require.Equal(t, "linkage", fault.Package)
	}
}

func anyParams(t *rapid.T) Params {
	p := bench()
	p.Pivots = rapid.Float64Range(0.03, 0.2).Draw(t, "pivots")
	p.ServoArm = p.Pivots * rapid.Float64Range(0.1, 0.8).Draw(t, "servo arm")
	p.CarbArm = p.Pivots * rapid.Float64Range(0.1, 0.8).Draw(t, "carb arm")
	p.Rod = p.Pivots * rapid.Float64Range(0.6, 1.4).Draw(t, "rod")
	p.Crossed = rapid.Bool().Draw(t, "crossed")
	return p
}
