package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/sinefit"
)

// Config says what counts as hunting.
type Config struct {
	// Min and Max bound the frequency, Hz. Zero Min looks as low as the window
	// allows (five cycles), but not below 0.1 Hz; zero Max looks up to 10 Hz.
	Min, Max float64
	// Least is the smallest amplitude that matters, in the unit of the series.
	// Zero takes 0.05 % of the mean speed.
	Least float64
	// MostChance is the greatest chance of a false alarm in a healthy window.
	// Zero takes Chance.
	MostChance float64
}

// Chance is the usual chance of a false alarm in a healthy window: one in a thousand.
const Chance = 1e-3

const (
	defaultMin   = 0.1    // Hz
	defaultMax   = 10.0   // Hz
	defaultLeast = 0.0005 // of the mean
	// fallen is the exponent by which an oscillation must have died away over
	// the window to be a ring: to half. From falling on, to 82 %, it may be one.
	fallen, falling = 0.7, 0.2
	// doubtful is the chance of noise from which on a swing is called noise;
	// between it and MostChance the window cannot tell.
	doubtful = 0.01
	// large is the share of the mean speed beyond which an unsteady swing is no
	// mere roughness: the window cannot tell what it is.
	large = 0.01
)

func (c Config) complete(e *even) Config {
	c.Min = math.Max(c.Min, math.Max(defaultMin, fewestCycles/e.span()))
	if c.Max <= 0 {
		c.Max = defaultMax
	}
	c.Max = math.Min(c.Max, 0.4/e.width)
	if c.Least <= 0 {
		c.Least = defaultLeast * math.Abs(e.level)
	}
	if c.MostChance <= 0 {
		c.MostChance = Chance
	}
	return c
}

// Detect looks for a sustained oscillation in a window that holds no step, of
// any length: first in the whole window, then in its later half alone, for
// hunting that began within it or that a transient came before.
func Detect(s measure.Series, c Config) Finding {
	f := inspect(s, c)
	if f.Hunting() {
		f.sharpen(s.Between(f.From, math.Inf(1)), f.Frequency)
	}
	return f
}

// inspect is Detect but for the last fit to the samples themselves.
func inspect(s measure.Series, c Config) Finding {
	if err := s.Validate(); err != nil {
		return unknown(err.Error())
	}
	if s.Len() < 32 {
		return unknown(fmt.Sprintf("%d samples are too few", s.Len()))
	}
	if g := s.Gaps(); len(g) > 0 {
		return unknown(fmt.Sprintf("the log has a gap from %.3f s to %.3f s", g[0].From, g[0].To))
	}
	whole := smoothed(s)
	c = c.complete(&whole)
	if c.Max < 2*c.Min {
		return unknown(fmt.Sprintf("a window of %.2f s is too short", s.Span()))
	}
	f := detect(&whole, c, whole.span())
	f.From, f.To = s.T[0], s.T[s.Len()-1]
	if f.Kind == Noise || f.Kind == Ringing || f.Kind == Unknown && f.Frequency > 0 {
		f = later(f, s, c, whole.span())
	}
	return aliased(f, s)
}

// later looks at the later half alone. Looking twice doubles the chance of a
// false alarm, so that half as much is allowed to it.
func later(whole Finding, s measure.Series, c Config, span float64) Finding {
	c.MostChance /= 2
	half := s.Between((whole.From+whole.To)/2, math.Inf(1))
	e := smoothed(half)
	if len(e.y) == 0 || fewestCycles/e.span() > c.Max/2 {
		return whole
	}
	c.Min = math.Max(c.Min, fewestCycles/e.span())
	f := detect(&e, c, span)
	if !f.Hunting() {
		return whole
	}
	f.From, f.To = half.T[0], whole.To
	f.Lowest, f.Highest = whole.Lowest, whole.Highest
	f.Why += fmt.Sprintf("; in the half from %.2f s on", half.T[0])
	return f
}

// detect looks at even moments. span is that of the whole log, s, against which
// a ring is judged.
func detect(e *even, c Config, span float64) Finding {
	f := e.look(c, span)
	f.Lowest, f.Highest = c.Min, c.Max
	if slow, ok := e.slow(c.Min, large); ok && !f.Hunting() {
		f.Kind = Unknown
		f.Why = fmt.Sprintf("the speed swings slower than a window of %.3g s can judge, about %.2g Hz", e.span(), slow)
	}
	return f
}

// look finds the strongest line and judges it.
func (e *even) look(c Config, span float64) Finding {
	f := Finding{Kind: Quiet, Why: "no line stands out of the noise"}
	l, ok := strongest(e, c.Min, c.Max)
	if !ok || l.chance > c.MostChance {
		return f
	}
	fit, err := sinefit.Damped(e.series(0, len(e.y)), l.frequency)
	if err != nil || math.Abs(fit.Frequency-l.frequency) > 2/e.span() {
		fit, err = sinefit.Three(e.series(0, len(e.y)), l.frequency)
	}
	if err != nil {
		return f
	}
	w := listen(e, fit.Frequency)
	if w.amplitude == 0 {
		return f
	}
	chance := math.Max(l.chance, w.chance())
	f.Frequency, f.FrequencyError = fit.Frequency, fit.FrequencyError
	passed := e.passed(fit.Frequency)
	f.Amplitude, f.AmplitudeError = w.amplitude/passed, w.scatter/passed
	f.Swing = e.meanCycle(w)
	f.Growth, f.GrowthError = w.growth, w.growthError
	if w.last < w.first/2 { // where it has drowned in the noise the cycles say too little
		f.Growth, f.GrowthError = fit.Growth, fit.GrowthError
	}
	f.Confidence = 1 - math.Min(1, chance)
	f.judge(e, c, chance, span)
	return f
}

// sharpen replaces frequency and amplitude by those of a four-parameter fit to
// the samples themselves, as long as one sine describes the whole window.
func (f *Finding) sharpen(s measure.Series, near float64) {
	fit, err := sinefit.Four(s, near)
	if err != nil || math.Abs(fit.Frequency/near-1) > 0.05 {
		return
	}
	if a := fit.Amplitude(); a > 0.8*f.Amplitude {
		f.Frequency, f.FrequencyError = fit.Frequency, fit.FrequencyError
		f.Amplitude, f.AmplitudeError = a, fit.AmplitudeError
	} else {
		f.Why += "; its phase wanders, so the amplitude is that of stretches of a few cycles"
	}
}

func unknown(why string) Finding { return Finding{Kind: Unknown, Why: why} }
