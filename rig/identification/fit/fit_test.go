package fit

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure/response"
)

// drawn are laws drawn by lot with their answers, and what scipy's own least squares
// (MINPACK) makes of them: testdata/oracle.py. It needs the Debian package
// python3-scipy.
type drawn struct {
	Frequency []float64
	Cases     []struct {
		Name                string
		Terms               []int
		True, Fitted, Error []float64
		Cost                float64
		Sets                []struct {
			Share, RPM    float64
			Re, Im, Sigma []float64
		}
	}
}

func draw(t *testing.T) (d drawn) {
	script, err := os.Open("testdata/oracle.py") // opened here, so that a change of it is seen
	require.NoError(t, err)
	defer script.Close()
	python := exec.Command("/usr/bin/python3", "-")
	python.Stdin = script
	text, err := python.Output()
	require.NoError(t, err, "install python3-scipy")
	require.NoError(t, json.Unmarshal(text, &d))
	return d
}

func (d *drawn) sets(k int) (all []Set) {
	for _, s := range d.Cases[k].Sets {
		set := Set{Share: s.Share, Turn: 60 / s.RPM}
		for i, f := range d.Frequency {
			set.Lines = append(set.Lines, Line{Omega: 2 * math.Pi * f, H: complex(s.Re[i], s.Im[i]), Sigma: s.Sigma[i]})
		}
		all = append(all, set)
	}
	return all
}

// order of terms in the oracle.
var byOracle = []Term{Gain, DeadTime, IntegralTime, Derivative, DerivativeLag, MeasureLag, Rise, Turns}

// The order is found, and the terms and their errors are those of scipy's least
// squares.
func TestFindsWhatScipyFinds(t *testing.T) {
	d := draw(t)
	for k, c := range d.Cases {
		f, err := Find(d.sets(k))
		require.NoError(t, err)
		var wanted []Term
		for _, i := range c.Terms {
			wanted = append(wanted, byOracle[i])
		}
		require.ElementsMatch(t, wanted, []Term(f.Order), "%s: %v", c.Name, f.Order)
		for i, term := range byOracle {
			require.InDelta(t, c.Fitted[i], f.Law[term], 1e-3*c.Error[i]+1e-12, "%s, term %d", c.Name, term)
			require.InDelta(t, c.Error[i]*math.Sqrt(math.Max(1, f.Misfit)), f.Error[term], 0.02*c.Error[i]+1e-12, "%s, term %d", c.Name, term)
			require.InDelta(t, c.True[i], c.Fitted[i], 5*c.Error[i], "the lot itself")
		}
		lines := 6 * len(d.Frequency)
		require.InEpsilon(t, c.Cost, f.Misfit*f.freedom(lines), 1e-6)
		require.Less(t, math.Abs(f.Trend), 4.0, "white noise is left")
		require.InDelta(t, 0.014, f.Residual, 0.003, "two parts of one hundredth")
	}
}

// A series of laws that have no second derivative or other such thing in them: the
// order is that of the law or a simpler one, in nine of ten at the least.
func TestOrderIsRarelyTooHigh(t *testing.T) {
	random := rand.New(rand.NewPCG(1978, 1))
	tooHigh := 0
	const tries = 20
	for range tries {
		law := Law{Gain: 0.003, DeadTime: 0.005 + 0.01*random.Float64(), IntegralTime: 0.5 + random.Float64()}
		sets := noisy(law, 0.01, random)
		f, err := Find(sets)
		require.NoError(t, err)
		if len(f.Order) > 3 {
			tooHigh++
		}
		require.InEpsilon(t, law[Gain], f.Law[Gain], 0.05)
		require.InEpsilon(t, law[IntegralTime], f.Law[IntegralTime], 0.05)
	}
	require.LessOrEqual(t, tooHigh, tries/10)
}

// noisy are the answers of a law at two loads of two speeds, with relative noise.
func noisy(law Law, noise float64, random *rand.Rand) (sets []Set) {
	for _, at := range [][2]float64{{0.3, 12_000}, {0.6, 12_000}, {0.4, 15_000}, {0.7, 15_000}} {
		s := Set{Share: at[0], Turn: 60 / at[1]}
		for hertz := 0.25; hertz < 8.1; hertz *= 1.36 {
			omega := 2 * math.Pi * hertz
			h := law.At(omega, &s)
			sigma := noise * cmplx.Abs(h)
			h += complex(sigma*random.NormFloat64(), sigma*random.NormFloat64())
			s.Lines = append(s.Lines, Line{Omega: omega, H: h, Sigma: sigma})
		}
		sets = append(sets, s)
	}
	return sets
}

// A line at which something else sways is left out, and the law is that of the others;
// where many are off, none is.
func TestOddLinesAreLeftOut(t *testing.T) {
	law := Law{Gain: 0.003, DeadTime: 0.01, IntegralTime: 0.8}
	sets := noisy(law, 0.005, rand.New(rand.NewPCG(7, 7)))
	for i := range sets {
		sets[i].Lines[2].H *= complex(1.3, 0.3)
	}
	f, err := Find(sets)
	require.NoError(t, err)
	require.Equal(t, 4, f.LeftOut)
	require.Less(t, f.Worst, 0.03)
	require.InEpsilon(t, law[IntegralTime], f.Law[IntegralTime], 0.02)
	for i := range sets {
		for k := range sets[i].Lines[:4] {
			sets[i].Lines[k].H *= complex(1+0.2*float64(k), 0)
		}
	}
	f, err = Find(sets)
	require.NoError(t, err)
	require.Zero(t, f.LeftOut)
	require.Greater(t, f.Worst, 0.1)
}

// What a law of these orders does not describe is left over, and is no scatter: a
// resonance that the measured speed goes through.
func TestWhatIsNoLawIsLeftOver(t *testing.T) {
	sets := noisy(Law{Gain: 0.003, DeadTime: 0.01, IntegralTime: 0.8}, 0.002, rand.New(rand.NewPCG(1, 1)))
	for i := range sets {
		for k := range sets[i].Lines {
			l := &sets[i].Lines[k]
			x := complex(0, l.Omega/(2*math.Pi*2)) // at 2 Hz, with a tenth of critical damping
			l.H /= 1 + 0.2*x + x*x
		}
	}
	f, err := Find(sets)
	require.NoError(t, err)
	require.Greater(t, f.Residual, 0.1)
}

// What is left need not be large to be no scatter: a ripple of 3 % over frequency.
func TestRippleIsNoScatter(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	for _, ripple := range []float64{0, 0.03} {
		sets := noisy(Law{Gain: 0.003, DeadTime: 0.01, IntegralTime: 0.8}, 0.005, random)
		for i := range sets {
			for k := range sets[i].Lines {
				l := &sets[i].Lines[k]
				l.H *= complex(1+ripple*math.Sin(2*math.Log(l.Omega)), 0)
			}
		}
		f, err := Find(sets)
		require.NoError(t, err)
		require.Less(t, f.Residual, 0.03)
		require.Equal(t, ripple > 0, f.Trend > 4, "%g: %g", ripple, f.Trend)
	}
}

func TestTooFewLines(t *testing.T) {
	sets := noisy(Law{Gain: 0.003, DeadTime: 0.01}, 0.01, rand.New(rand.NewPCG(2, 2)))[:1]
	sets[0].Lines = sets[0].Lines[:5]
	_, err := Find(sets)
	require.ErrorIs(t, err, ErrLines)
	opening := noisy(Law{Gain: -0.003, DeadTime: 0.01}, 0.01, rand.New(rand.NewPCG(2, 2)))
	for i := range opening {
		for k := range opening[i].Lines {
			opening[i].Lines[k].Sigma = math.Abs(opening[i].Lines[k].Sigma)
		}
	}
	_, err = Find(opening)
	require.ErrorIs(t, err, ErrLines, "a throttle that opens as the speed rises")
}

// The hold of the output is taken out: a pure gain behind frames of 20 ms (the
// response of a zero-order hold, (1−e^{−sT})/(sT); Åström and Wittenmark,
// Computer-Controlled Systems, from memory) is a pure gain again.
func TestHoldIsTakenOut(t *testing.T) {
	const frame, pulse, gain = 0.02, 1.5e-3, -0.3 // µs/rpm
	var points []response.Point
	for _, hertz := range []float64{0.5, 2, 8} {
		s := complex(0, 2*math.Pi*hertz)
		hold := (1 - cmplx.Exp(-s*frame)) / (s * frame) * cmplx.Exp(-s*pulse)
		points = append(points, response.Point{Frequency: hertz, H: gain * hold, Output: 1, GainError: 0.01})
	}
	set := NewSet("light", points, 12_000, 1e6*pulse, Output{Closed: 1.1e-3, Open: 1.9e-3, Frame: frame})
	want := -gain * 1e-6 / 0.8e-3 * 30 / math.Pi
	for _, l := range set.Lines {
		require.InDelta(t, want, real(l.H), 1e-12)
		require.InDelta(t, 0, imag(l.H), 1e-12)
		require.InEpsilon(t, 0.01*want, l.Sigma, 1e-9)
	}
	require.InDelta(t, 0.5, set.Share, 1e-12)
	reversed := NewSet("light", points, 12_000, 1e6*pulse, Output{Closed: 1.9e-3, Open: 1.1e-3, Frame: frame})
	require.InDelta(t, -want, real(reversed.Lines[0].H), 1e-12, "a servo that goes the other way")
}

func BenchmarkFind(b *testing.B) {
	sets := noisy(Law{Gain: 0.003, DeadTime: 0.005, IntegralTime: 0.8, Derivative: 0.06, DerivativeLag: 0.015}, 0.01, rand.New(rand.NewPCG(3, 3)))
	for b.Loop() {
		if _, err := Find(slices.Clone(sets)); err != nil {
			b.Fatal(err)
		}
	}
}
