package table

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

const rate = 500.0

// log writes a log at 500 Hz, to the precision of a careful logger.
func log(from, to float64, speed func(t float64) float64) string {
	var b strings.Builder
	b.WriteString("time_s,speed_rpm\n")
	for i := int(math.Round(from * rate)); i <= int(math.Round(to*rate)); i++ {
		t := float64(i) / rate
		fmt.Fprintf(&b, "%.3f,%.4f\n", t, speed(t))
	}
	return b.String()
}

func measured(t *testing.T, text string, o Options) measure.Result {
	t.Helper()
	if o.Band == 0 {
		o.Band = DefaultBand
	}
	r, err := Measure(strings.NewReader(text), o)
	require.NoError(t, err)
	require.Equal(t, measure.Schema, r.Schema)
	require.NotEqual(t, measure.Error, r.Outcome, "%v", r.Warnings)
	return r
}

func at(t float64) *float64 { return &t }

func value(t *testing.T, r measure.Result, name string) float64 {
	t.Helper()
	m := r.Find(name)
	require.NotNil(t, m, name)
	require.NotNil(t, m.Value, "%s: %v", name, m.Warnings)
	return *m.Value
}

func missing(t *testing.T, r measure.Result, names ...string) {
	t.Helper()
	for _, name := range names {
		m := r.Find(name)
		require.NotNil(t, m, name)
		require.Nil(t, m.Value, name)
		require.Equal(t, measure.NotRun, m.Outcome)
		require.NotEmpty(t, m.Warnings, "%s says why", name)
	}
}

// Load step on inertia with PI control, deviation e^{−ζt}·sin(√(1−ζ²)t)/√(1−ζ²)
// with ωn = 1 (closed form, control text-books): peak 0.546293 at ζ = 0.5;
// band of 0.05 left at 0.051316, entered for good at 6.018353.
func TestLoadStepFromAFile(t *testing.T) {
	root := math.Sqrt(0.75)
	text := log(0, 30, func(x float64) float64 {
		x = math.Max(0, x-3)
		return 16000 - 1600*math.Exp(-0.5*x)*math.Sin(root*x)/root
	})
	r := measured(t, text, Options{Event: at(3), Declared: 16000, Band: 1})
	require.Equal(t, measure.Pass, r.Outcome)
	require.InDelta(t, -5.46293, value(t, r, PeakDeviation), 0.001)
	require.InDelta(t, -5.46293, value(t, r, TransientDev), 0.001)
	require.InDelta(t, 6.018353-0.051316, value(t, r, RecoveryTime), 1/rate)
	require.InDelta(t, 6.018353, value(t, r, RecoveryFromEvent), 1/rate)
	require.InDelta(t, 5.46293*math.Exp(-0.5*math.Pi/root), value(t, r, Overshoot), 0.001)
	require.InDelta(t, 16000, value(t, r, GovernedSpeed), 0.1)
	require.Zero(t, value(t, r, HuntingAmplitude))
	missing(t, r, RiseTime, Droop, HuntingFrequency)
	require.Contains(t, r.Find(RecoveryTime).Convention, "±0.5 %")
	require.Contains(t, r.Find(SteadyBand).Convention, "window")
}

// Second-order step, ζ = 0.5, ωn = 2: text-book values over ωn.
func TestSetPointStepFromAFile(t *testing.T) {
	root := math.Sqrt(0.75)
	text := log(0, 20, func(x float64) float64 {
		x = 2 * math.Max(0, x-2)
		return 14000 + 2000*(1-math.Exp(-0.5*x)/root*math.Sin(root*x+math.Acos(0.5)))
	})
	r := measured(t, text, Options{Event: at(2), Declared: 16000})
	require.InDelta(t, 16.303353, value(t, r, Overshoot), 0.05)
	require.InDelta(t, 1.637573/2, value(t, r, RiseTime), 0.0005)
	require.InDelta(t, 8.076349/2, value(t, r, Settling2), 1/rate)
	require.InDelta(t, 5.289093/2, value(t, r, Settling5), 1/rate)
	require.InDelta(t, 16.303353*2000/16000, value(t, r, TransientDev), 0.01)
	missing(t, r, HuntingFrequency, Droop)
}

func TestTheLoadColumnGivesEventDroopAndEnd(t *testing.T) {
	var b strings.Builder
	b.WriteString("time_s,speed_rpm,load\n")
	for i := range 10000 {
		x := float64(i) / rate
		load, speed := 2, 16000.0
		if x >= 5 && x < 12 {
			load = 8
			speed = 15680 - 480*(x-5)*math.Exp(-2*(x-5))*2
			speed += 320 * math.Exp(-8*(x-5))
		}
		fmt.Fprintf(&b, "%.3f,%.2f,%d\n", x, speed, load)
	}
	r := measured(t, b.String(), Options{Declared: 16000})
	require.InDelta(t, 2, value(t, r, Droop), 0.01)
	require.Empty(t, r.Find(RecoveryTime).Warnings, "passing the new speed on the way down is no second event")
	require.Negative(t, value(t, r, TransientDev))
	require.Contains(t, strings.Join(r.Warnings, "\n"), "before the load changes again")
	missing(t, r, RiseTime)

	off := measured(t, b.String(), Options{Declared: 16000, Event: at(12)})
	require.InDelta(t, 2, value(t, off, Droop), 0.01)
}

func TestHuntingFromAFile(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var b strings.Builder
	b.WriteString("time_s;speed_rpm;throttle_us\n")
	for i := range 10000 {
		x := float64(i) / rate
		line := fmt.Sprintf("%.3f;%.1f;%.1f\n", x, 16000+60*math.Sin(2*math.Pi*1.9*x)+8*rng.NormFloat64(), 1500-25*math.Cos(2*math.Pi*1.9*x))
		b.WriteString(strings.ReplaceAll(line, ".", ","))
	}
	r := measured(t, b.String(), Options{Declared: 16000})
	require.InDelta(t, 1.9, value(t, r, HuntingFrequency), 0.001)
	require.InDelta(t, 60, value(t, r, HuntingAmplitude), 0.5)
	require.InDelta(t, 25, value(t, r, HuntingThrottle), 0.1)
	require.Greater(t, value(t, r, SteadyBand), 0.75)
	require.Contains(t, strings.Join(r.Warnings, "\n"), "decimal commas")
	missing(t, r, PeakDeviation, TransientDev, RecoveryTime, Overshoot)
}

func TestHealthyNoiseGivesNoHunting(t *testing.T) {
	for seed := range uint64(10) {
		rng := rand.New(rand.NewPCG(seed, 2))
		r := measured(t, log(0, 40, func(float64) float64 { return 16000 + 15*rng.NormFloat64() }), Options{})
		require.Zero(t, value(t, r, HuntingAmplitude))
		missing(t, r, HuntingFrequency)
		require.Equal(t, measure.Pass, r.Outcome)
	}
}

func TestDegenerateLogsGiveNoNumber(t *testing.T) {
	flat := func(float64) float64 { return 16000 }
	dip := func(x float64) float64 {
		x = math.Max(0, x-3)
		return 16000 - 1600*x*math.Exp(-2*x)
	}
	steps := []string{PeakDeviation, TransientDev, RecoveryTime, RecoveryFromEvent, Overshoot, Settling2, Settling5}
	t.Run("nothing happens", func(t *testing.T) {
		r := measured(t, log(0, 10, flat), Options{Event: at(3), Declared: 16000})
		missing(t, r, steps...)
		require.Equal(t, measure.NotRun, r.Outcome)
	})
	t.Run("never settles", func(t *testing.T) {
		r := measured(t, log(0, 20, func(x float64) float64 {
			if x < 3 {
				return 16000
			}
			return 16000 - 500*math.Sin(4*(x-3))
		}), Options{Event: at(3), Declared: 16000})
		missing(t, r, RecoveryTime, RecoveryFromEvent, Settling2, Settling5)
		require.InDelta(t, 500, value(t, r, HuntingAmplitude), 3)
		require.InDelta(t, -3.125, value(t, r, TransientDev), 0.01)
		require.Equal(t, measure.NotRun, r.Outcome)
	})
	t.Run("ends during the dip", func(t *testing.T) {
		for _, end := range []float64{3.1, 3.2, 3.3, 3.4, 3.5, 3.6, 3.7, 3.8, 3.9, 4, 4.2, 4.5, 4.8, 5.5, 6, 6.5} {
			r := measured(t, log(0, end, dip), Options{Event: at(3), Declared: 16000})
			missing(t, r, Settling2)
			if m := r.Find(RecoveryFromEvent); m.Value != nil { // within the band, and still creeping
				require.NotEmpty(t, m.Warnings, "log that ends at %g", end)
			}
		}
	})
	t.Run("gap across the dip", func(t *testing.T) {
		var kept []string
		for i, line := range strings.SplitAfter(log(0, 20, dip), "\n") {
			if i < 1520 || i > 2000 {
				kept = append(kept, line)
			}
		}
		r := measured(t, strings.Join(kept, ""), Options{Event: at(3), Declared: 16000})
		missing(t, r, steps...)
		require.Contains(t, strings.Join(r.Warnings, "\n"), "gap")
	})
	t.Run("two rows", func(t *testing.T) {
		r := measured(t, "time_s,speed_rpm\n0,16000\n1,16001\n", Options{})
		missing(t, r, GovernedSpeed, SteadyBand, HuntingFrequency, HuntingAmplitude)
		require.Equal(t, measure.NotRun, r.Outcome)
	})
	t.Run("one row", func(t *testing.T) {
		r := measured(t, "time_s,speed_rpm\n0,16000\n", Options{})
		require.Equal(t, measure.NotRun, r.Outcome)
	})
}

func TestLimitsDecide(t *testing.T) {
	text := log(0, 10, func(x float64) float64 { return 16000 + 40*math.Sin(30*x) })
	r := measured(t, text, Options{Limits: map[string]*measure.Limit{SteadyBand: measure.AtMost(1)}})
	require.Equal(t, measure.Pass, r.Find(SteadyBand).Outcome)
	r = measured(t, text, Options{Limits: map[string]*measure.Limit{SteadyBand: measure.AtMost(0.1)}})
	require.Equal(t, measure.Fail, r.Outcome)
	r = measured(t, text, Options{Limits: map[string]*measure.Limit{RecoveryTime: measure.AtMost(3)}})
	require.Equal(t, measure.NotRun, r.Outcome, "a limit that could not be looked at is no pass")
}

func TestWrongOptionsAreRefused(t *testing.T) {
	text := log(0, 5, func(float64) float64 { return 16000 })
	for name, o := range map[string]Options{
		"event outside":    {Event: at(99), Band: 2},
		"event at start":   {Event: at(0), Band: 2},
		"event not finite": {Event: at(math.NaN()), Band: 2},
		"negative speed":   {Declared: -1, Band: 2},
		"no band":          {},
		"unknown measure":  {Band: 2, Limits: map[string]*measure.Limit{"speed": measure.AtMost(1)}},
		"impossible limit": {Band: 2, Limits: map[string]*measure.Limit{SteadyBand: measure.Between(2, 1)}},
		"ends too early":   {Band: 2, Until: at(-1)},
	} {
		_, err := Measure(strings.NewReader(text), o)
		require.Error(t, err, name)
	}
}

func TestIrregularAndRepeatedTimesAreSaidAndHandled(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	var b strings.Builder
	b.WriteString("time_s,speed_rpm\n")
	last := 0.0
	for x := 0.0; x < 20; x += 0.0005 + 0.004*rng.Float64() {
		d := 5 * math.Max(0, math.Round(x*1000)/1000-3)
		last = 16000 - 640*math.Exp(-0.7*d)*math.Sin(math.Sqrt(0.51)*d)/math.Sqrt(0.51)/0.458568
		fmt.Fprintf(&b, "%.3f,%.4f\n", x, last)
	}
	r := measured(t, b.String(), Options{Event: at(3), Declared: 16000})
	require.InDelta(t, -4, value(t, r, TransientDev), 0.01)
	require.Contains(t, strings.Join(r.Warnings, "\n"), "repeat the time")
	require.Contains(t, strings.Join(r.Warnings, "\n"), "irregular")
}

func TestUntilAndOwnEventAxis(t *testing.T) {
	text := log(100, 130, func(x float64) float64 {
		if x > 120 {
			return 15000
		}
		return 16000 - 2400*math.Max(0, x-105)*math.Exp(-2*(math.Max(0, x-105)))
	})
	r := measured(t, text, Options{Event: at(105), Until: at(119), Declared: 16000})
	require.InDelta(t, -100*2400/(2*math.E)/16000, value(t, r, TransientDev), 0.001)
	require.Empty(t, r.Find(RecoveryTime).Warnings)
}

// hour is an hour at 500 Hz, written as it is read.
type hour struct {
	block [][]byte
	i     int
	rest  []byte
}

func newHour() *hour {
	rng := rand.New(rand.NewPCG(1, 1))
	h := &hour{}
	for range 1 << 14 {
		h.block = append(h.block, fmt.Appendf(nil, ",%.2f,%.1f,2\n", 16000+10*rng.NormFloat64(), 1500+2*rng.NormFloat64()))
	}
	h.rest = []byte("time_s,speed_rpm,throttle_us,load\n")
	return h
}

func (h *hour) Read(p []byte) (n int, err error) {
	for n < len(p) {
		if len(h.rest) == 0 {
			if h.i == 1_800_000 {
				return n, io.EOF
			}
			ms := 2 * h.i
			h.rest = fmt.Appendf(h.rest[:0], "%d.%03d", ms/1000, ms%1000)
			h.rest = append(h.rest, h.block[h.i%len(h.block)]...)
			h.i++
		}
		c := copy(p[n:], h.rest)
		n += c
		h.rest = h.rest[c:]
	}
	return n, nil
}

// BenchmarkHour is a whole log of an hour at 500 Hz, read and measured.
func BenchmarkHour(b *testing.B) {
	text, err := io.ReadAll(newHour())
	require.NoError(b, err)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		_, err := Measure(bytes.NewReader(text), Options{Event: at(1800), Declared: 16000, Band: 2})
		require.NoError(b, err)
	}
}
