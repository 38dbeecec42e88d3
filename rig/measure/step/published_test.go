package step

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// rate is the sampling of the rig's own logs, Hz.
const rate = 500.0

// sampled takes f at 500 Hz from -lead to length seconds.
func sampled(lead, length float64, f func(t float64) float64) measure.Series {
	var s measure.Series
	for i := -int(lead * rate); i <= int(length*rate); i++ {
		t := float64(i) / rate
		s.T, s.Y = append(s.T, t), append(s.Y, f(t))
	}
	return s
}

// secondOrder is the unit-step answer of ωn²/(s²+2ζωn·s+ωn²), ζ < 1.
func secondOrder(zeta, wn float64) func(float64) float64 {
	root := math.Sqrt(1 - zeta*zeta)
	return func(t float64) float64 {
		if t <= 0 {
			return 0
		}
		return 1 - math.Exp(-zeta*wn*t)/root*math.Sin(wn*root*t+math.Acos(zeta))
	}
}

// The exact second-order step: formulas as in Ogata, Modern Control
// Engineering, and Franklin, Powell & Emami-Naeini, from memory; the numbers
// are exact roots found by Brent's method.
func TestSecondOrderStepAgainstTextbookTable(t *testing.T) {
	table := []struct{ zeta, overshoot, peak, rise, ts2, ts5 float64 }{
		{0.1, 72.924761, 3.157419, 1.104199, 38.383280, 28.967854},
		{0.2, 52.662060, 3.206375, 1.203430, 19.601904, 13.744436},
		{0.4, 25.382672, 3.427759, 1.463491, 8.409320, 7.608781},
		{0.5, 16.303353, 3.627599, 1.637573, 8.076349, 5.289093},
		{0.7, 4.598791, 4.399110, 2.126202, 5.978792, 2.899821},
		{1 / math.Sqrt2, 4.321392, 4.442883, 2.148038, 5.962585, 2.929839},
		{0.8, 1.516462, 5.235988, 2.467493, 3.755841, 3.385350},
		{0.9, 0.152376, 7.207308, 2.882955, 4.699597, 4.014342},
	}
	for _, row := range table {
		for _, wn := range []float64{1, 5} {
			unit := secondOrder(row.zeta, wn)
			s := sampled(1, 16/(row.zeta*wn), func(t float64) float64 { return 14000 + 2000*unit(t) })
			p := AnalyseSetPoint(s, Windows{Event: 0})
			require.InDelta(t, row.overshoot, p.Overshoot.Value, 0.05, "overshoot, percentage points, ζ=%g ωn=%g", row.zeta, wn)
			require.InDelta(t, row.ts2/wn, p.Settling2.Value, 1/rate, "settling 2 %%, one sample, ζ=%g ωn=%g", row.zeta, wn)
			require.InDelta(t, row.ts5/wn, p.Settling5.Value, 1/rate, "settling 5 %%, ζ=%g ωn=%g", row.zeta, wn)
			require.InDelta(t, row.rise/wn, p.Rise.Value, 0.0002, "rise, ζ=%g ωn=%g", row.zeta, wn)
			require.InDelta(t, row.peak/wn, p.PeakTime.Value, 1/rate, "peak time, ζ=%g ωn=%g", row.zeta, wn)
			require.Empty(t, p.Settling2.Warnings)
		}
	}
}

// First order, T = 1 (rise ln 9, settling ln 50 and ln 20), and critical
// damping: same text-books, from memory.
func TestFirstOrderAndCriticalStep(t *testing.T) {
	first := sampled(1, 20, func(t float64) float64 { return -math.Expm1(-math.Max(0, t)) })
	p := AnalyseSetPoint(first, Windows{})
	require.InDelta(t, math.Log(9), p.Rise.Value, 0.0002)
	require.InDelta(t, math.Ln2, p.Delay.Value, 0.0002)
	require.InDelta(t, math.Log(50), p.Settling2.Value, 1/rate)
	require.InDelta(t, math.Log(20), p.Settling5.Value, 1/rate)
	require.Zero(t, p.Overshoot.Value)
	require.False(t, p.PeakTime.OK())

	critical := sampled(1, 30, func(t float64) float64 {
		t = math.Max(0, t)
		return 1 - (1+t)*math.Exp(-t)
	})
	p = AnalyseSetPoint(critical, Windows{})
	require.InDelta(t, 3.357909, p.Rise.Value, 0.0002)
	require.InDelta(t, 5.833922, p.Settling2.Value, 1/rate)
	require.InDelta(t, 4.743865, p.Settling5.Value, 1/rate)
}

// loadDeviation is the answer of J·dω/dt = u − T_load under PI control to a
// unit load step, times J·ωn (closed form, any control text-book).
func loadDeviation(zeta float64) func(float64) float64 {
	return func(t float64) float64 {
		if t <= 0 {
			return 0
		}
		if zeta == 1 {
			return t * math.Exp(-t)
		}
		root := math.Sqrt(1 - zeta*zeta)
		return math.Exp(-zeta*t) * math.Sin(root*t) / root
	}
}

// Load step on inertia with PI control, ωn = 1: peak
// exp(−ζ·acos ζ/√(1−ζ²)) at acos ζ/√(1−ζ²); exit and last re-entry of a band
// are exact roots. The recovery time of ISO 8528-5 (definition from memory)
// is re-entry less exit.
func TestLoadStepAgainstExactTable(t *testing.T) {
	table := []struct{ zeta, tPeak, peak, band, exit, reentry float64 }{
		{0.2, 1.397677, 0.756135, 0.05, 0.050528, 14.779442},
		{0.2, 1.397677, 0.756135, 0.02, 0.020082, 18.344057},
		{0.5, 1.209200, 0.546293, 0.05, 0.051316, 6.018353},
		{0.5, 1.209200, 0.546293, 0.02, 0.020204, 6.669047},
		{0.7, 1.113781, 0.458568, 0.05, 0.051860, 3.702926},
		{0.7, 1.113781, 0.458568, 0.02, 0.020287, 5.862054},
		{1 / math.Sqrt2, 1.110721, 0.455938, 0.05, 0.051880, 3.718400},
		{1 / math.Sqrt2, 1.110721, 0.455938, 0.02, 0.020290, 4.080692},
		{1, 1, 0.367879, 0.05, 0.052706, 4.499755},
		{1, 1, 0.367879, 0.02, 0.020412, 5.642318},
	}
	const declared, unit = 16000.0, 1600.0 // a deviation of 1 is 10 % of declared
	for _, row := range table {
		for _, sign := range []float64{-1, 1} { // load on, load off
			d := loadDeviation(row.zeta)
			s := sampled(2, 12/row.zeta+12, func(t float64) float64 { return declared + sign*unit*d(t) })
			l := AnalyseLoad(s, LoadConfig{
				Windows: Windows{Event: 0}, Declared: declared,
				Tolerance: 2 * 10 * row.band, // full width, % of declared
			})
			want := sign * 10 * row.peak
			require.InDelta(t, want, l.FromDeclared.Value, 0.001, "ζ=%g", row.zeta)
			require.InDelta(t, want, l.FromInitial.Value, 0.001)
			require.InDelta(t, want, l.FromFinal.Value, 0.001)
			// The next half swing of the closed form is smaller by
			// exp(−ζπ/√(1−ζ²)).
			if row.zeta < 1 {
				next := 10 * row.peak * math.Exp(-row.zeta*math.Pi/math.Sqrt(1-row.zeta*row.zeta))
				require.InDelta(t, next, l.Overswing.Value, 0.001, "ζ=%g", row.zeta)
			} else {
				require.Zero(t, l.Overswing.Value)
			}
			require.InDelta(t, row.tPeak, l.ExtremeTime.Value, 1/rate)
			require.InDelta(t, row.exit, l.Exit.Value, 1e-4, "exit clock, ζ=%g", row.zeta)
			require.InDelta(t, row.reentry, l.RecoveryFromEvent.Value, 1/rate, "event clock, ζ=%g", row.zeta)
			require.InDelta(t, row.reentry-row.exit, l.RecoveryFromExit.Value, 1/rate, "exit clock, ζ=%g", row.zeta)
		}
	}
}

// With droop the three references for the deviation differ. A trapezoid with
// known levels must give exact percentages under each: ISO 8528-5 from the
// declared speed (from memory), from the speed before, and from the new steady
// speed as TM 5-6115-275-14 measures it.
func TestThreeReferencesDifferUnderDroop(t *testing.T) {
	trapezoid := func(t float64) float64 {
		switch {
		case t <= 0:
			return 10300
		case t <= 0.5:
			return 10300 - 1000*t/0.5
		case t <= 1.5:
			return 9300 + 700*(t-0.5)
		}
		return 10000
	}
	l := AnalyseLoad(sampled(2, 10, trapezoid), LoadConfig{Declared: 10000, Tolerance: 2})
	require.InDelta(t, -7, l.FromDeclared.Value, 1e-9)
	require.InDelta(t, -10, l.FromInitial.Value, 1e-9)
	require.InDelta(t, -7, l.FromFinal.Value, 1e-9)
	require.InDelta(t, 0.05, l.Exit.Value, 1e-9)                   // 100 rpm at 2000 rpm/s
	require.InDelta(t, 1.5-1.0/7, l.RecoveryFromEvent.Value, 1e-9) // 9900 rising at 700 rpm/s
	require.InDelta(t, 1.45-1.0/7, l.RecoveryFromExit.Value, 1e-9)
	droop := Droop(l.Initial, l.Final, 10000)
	require.InDelta(t, 3, droop.Value, 1e-9)

	other := AnalyseLoad(sampled(2, 10, trapezoid), LoadConfig{Declared: 10200, Tolerance: 2})
	require.InDelta(t, 100*(9300-10200)/10200.0, other.FromDeclared.Value, 1e-9)
	require.InDelta(t, 100*(9300-10000)/10200.0, other.FromFinal.Value, 1e-9)
}

// Steady-state band: full width of the envelope in % of the declared speed,
// ISO 8528-5, definition from memory.
func TestSteadyBandIsFullWidth(t *testing.T) {
	s := sampled(0, 4, func(t float64) float64 { return 15900 + 40*math.Sin(2*math.Pi*5*t) })
	r := SteadyBand(s, 16000)
	require.InDelta(t, 100*80/16000.0, r.Value, 1e-4)
	require.Contains(t, r.Detail, "window 4.00 s")
	require.InDelta(t, 15900, MeanSpeed(s).Value, 0.1)
}
