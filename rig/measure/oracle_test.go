package measure_test

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/internal/looptest"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/rig/measure/sinefit"
	"govrig/rig/measure/step"
)

// oracle is what scipy, a general-purpose library of others, makes of cases
// that testdata/oracle.py draws. It needs the Debian package python3-scipy.
type oracle struct {
	SetPoint []struct {
		Y                                     []float64
		Overshoot, Rise, Settling2, Settling5 float64
	} `json:"set_point"`
	Load []struct {
		Y                                             []float64
		K, Tau, Kp, Ti, Half, Peak, Exit, Back, Final float64
		PeakTime                                      float64 `json:"peak_time"`
	}
	Margins []struct {
		Kp, Ti, Delay, Gain, Tau, Tau2, Crossover, Phase, Sensitivity float64
		DelayMargin                                                   float64 `json:"delay_margin"`
		PhaseCrossover                                                float64 `json:"phase_crossover"`
		GainMargin                                                    float64 `json:"gain_margin"`
	}
	Sine []struct {
		T, Y                                      []float64
		Start, Frequency, Amplitude, Level, Error float64
	}
	Lines []struct {
		X, Y                      []float64
		Period, Coherence, Re, Im float64
		Harmonic                  int
	}
	Hunting []struct {
		Y                []float64
		Frequency, Swing float64
	}
	Sluggish []struct {
		Y                              []float64
		Half, Peak, Length, Back, Left float64
	}
}

const oracleRate = 500.0

func consult(t *testing.T) oracle {
	t.Helper()
	script, err := os.Open("testdata/oracle.py") // opened here, so that a change of it is seen
	require.NoError(t, err)
	defer script.Close()
	python := exec.Command("/usr/bin/python3", "-", "20240611", "10")
	python.Stdin = script
	out, err := python.Output()
	require.NoError(t, err, "install python3-scipy")
	var o oracle
	require.NoError(t, json.Unmarshal(out, &o))
	require.Len(t, o.SetPoint, 10)
	require.Len(t, o.Lines, 10)
	return o
}

func TestAgainstScipy(t *testing.T) {
	o := consult(t)
	t.Run("set-point steps", func(t *testing.T) { setPoints(t, o) })
	t.Run("load steps", func(t *testing.T) { loads(t, o) })
	t.Run("predicted load steps", func(t *testing.T) { predictions(t, o) })
	t.Run("margins", func(t *testing.T) { margins(t, o) })
	t.Run("sine fits", func(t *testing.T) { sines(t, o) })
	t.Run("lines", func(t *testing.T) { lines(t, o) })
	t.Run("hunting", func(t *testing.T) { hunts(t, o) })
	t.Run("slow integrals", func(t *testing.T) { sluggish(t, o) })
}

// stepped puts a response behind a second of the level before it.
func stepped(y []float64, level, size float64) measure.Series {
	var s measure.Series
	for i := -int(oracleRate); i < len(y); i++ {
		value := level
		if i >= 0 {
			value += size * y[i]
		}
		s.T, s.Y = append(s.T, float64(i)/oracleRate), append(s.Y, value)
	}
	return s
}

func setPoints(t *testing.T, o oracle) {
	for i, c := range o.SetPoint {
		got := step.AnalyseSetPoint(stepped(c.Y, 14000, 2000), step.Windows{})
		require.InDelta(t, c.Overshoot, got.Overshoot.Value, 0.05, "case %d", i)
		require.InDelta(t, c.Rise, got.Rise.Value, 0.0005, "case %d", i)
		require.InDelta(t, c.Settling2, got.Settling2.Value, 1/oracleRate, "case %d", i)
		require.InDelta(t, c.Settling5, got.Settling5.Value, 1/oracleRate, "case %d", i)
	}
}

func loads(t *testing.T, o oracle) {
	const declared = 16000.0
	compared := 0
	for i, c := range o.Load {
		size := -800 / c.Peak // a dip of 5 %
		got := step.AnalyseLoad(stepped(c.Y, declared, size), step.LoadConfig{
			Declared: declared, Tolerance: 200 * 800 * c.Half / c.Peak / declared,
		})
		if c.Final > 0.002 { // the case has not come to rest
			require.False(t, got.RecoveryFromEvent.OK() && len(got.RecoveryFromEvent.Warnings) == 0)
			continue
		}
		compared++
		require.InDelta(t, -5, got.FromDeclared.Value, 0.001, "case %d", i)
		require.InDelta(t, c.PeakTime, got.ExtremeTime.Value, 1/oracleRate, "case %d", i)
		require.InDelta(t, c.Exit, got.Exit.Value, 0.0005, "case %d", i)
		require.InDelta(t, c.Back, got.RecoveryFromEvent.Value, 1/oracleRate, "case %d", i)
		require.InDelta(t, c.Back-c.Exit, got.RecoveryFromExit.Value, 1/oracleRate, "case %d", i)
	}
	require.Greater(t, compared, len(o.Load)/2)
}

func predictions(t *testing.T, o oracle) {
	for i, c := range o.Load {
		plant := looptest.Lag(c.K, c.Tau)
		got, err := loop.Predict(loop.Response(loop.PI{Kp: c.Kp, Ti: c.Ti}.At).Times(plant),
			loop.Step{Plant: plant, Size: 1, Half: c.Half, Horizon: 2.5 * c.Back}, loop.Band{Min: 1e-4, Max: 1e4})
		require.NoError(t, err)
		require.InEpsilon(t, c.Peak, got.Deviation, 0.002, "case %d", i)
		require.InDelta(t, c.Back, got.Recovery.Value, 0.01*c.Back, "case %d", i)
	}
}

func margins(t *testing.T, o oracle) {
	for i, c := range o.Margins {
		l := loop.Response(loop.PI{Kp: c.Kp, Ti: c.Ti, Delay: c.Delay}.At).
			Times(looptest.Lag(c.Gain, c.Tau)).Times(looptest.Lag(1, c.Tau2))
		got, err := loop.MarginsOf(l, loop.Band{Min: 1e-3, Max: 1e3})
		require.NoError(t, err)
		require.InEpsilon(t, c.Crossover, got.Crossover.Value, 1e-6, "case %d", i)
		require.InDelta(t, c.Phase, got.Phase.Value, 1e-5, "case %d", i)
		require.InEpsilon(t, c.PhaseCrossover, got.PhaseCrossover.Value, 1e-6, "case %d", i)
		require.InEpsilon(t, c.GainMargin, got.Gain.Value, 1e-6, "case %d", i)
		require.InEpsilon(t, c.Sensitivity, got.Sensitivity.Value, 1e-6, "case %d", i)
		if c.Phase > 0 {
			require.InEpsilon(t, c.DelayMargin, got.Delay.Value, 1e-6, "case %d", i)
		}
	}
}

func sines(t *testing.T, o oracle) {
	for i, c := range o.Sine {
		got, err := sinefit.Four(measure.Series{T: c.T, Y: c.Y}, c.Start)
		require.NoError(t, err)
		require.InEpsilon(t, c.Frequency, got.Frequency, 1e-7, "case %d", i)
		require.InEpsilon(t, c.Amplitude, got.Amplitude(), 1e-6, "case %d", i)
		require.InEpsilon(t, c.Level, got.C, 1e-7, "case %d", i)
		require.InEpsilon(t, c.Error, got.FrequencyError, 1e-3, "case %d", i)
	}
}

func lines(t *testing.T, o oracle) {
	for i, c := range o.Lines {
		var x, y measure.Series
		for n := range c.X {
			at := float64(n) / oracleRate
			x.T, x.Y = append(x.T, at), append(x.Y, c.X[n])
			y.T, y.Y = append(y.T, at), append(y.Y, c.Y[n])
		}
		m, err := response.NewMultisine(c.Period, []int{c.Harmonic}, 10)
		require.NoError(t, err)
		points, err := response.Estimate(x, y, m, 0)
		require.NoError(t, err)
		require.InDelta(t, c.Coherence, points[0].Coherence, 0.005, "case %d", i)
		require.Less(t, cmplx.Abs(points[0].H/complex(c.Re, c.Im)-1), 0.005, "case %d", i)
		require.False(t, math.IsNaN(points[0].GainError))
	}
}

func hunts(t *testing.T, o oracle) {
	for i, c := range o.Hunting {
		got := hunting.Detect(stepped(c.Y, 16000, 1).Between(0, math.Inf(1)), hunting.Config{})
		require.True(t, got.Hunting(), "case %d: %+v", i, got)
		require.InEpsilon(t, c.Frequency, got.Frequency, 0.003, "case %d", i)
		require.InEpsilon(t, c.Swing, got.Swing, 0.06, "case %d", i)
	}
}

// A recovery is the true one, or none.
func sluggish(t *testing.T, o oracle) {
	const declared, dip = 16000.0, 1000.0
	read := 0
	for i, c := range o.Sluggish {
		got := step.AnalyseLoad(stepped(c.Y, declared, -dip/c.Peak), step.LoadConfig{
			Declared: declared, Tolerance: 200 * dip * c.Half / c.Peak / declared,
		})
		if r := got.RecoveryFromEvent; r.OK() {
			require.InDelta(t, c.Back, r.Value, 0.1*c.Back+0.1, "case %d: half %.3g of the dip, log of %.3g s", i, c.Half/c.Peak, c.Length)
			read++
			continue
		}
		require.Greater(t, c.Left, 0.02*c.Half, "case %d: %s", i, got.RecoveryFromEvent.Why)
	}
	require.NotZero(t, read)
}
