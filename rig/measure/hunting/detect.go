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
	// allows (eight cycles); zero Max looks up to 25 Hz.
	Min, Max float64
	// Least is the smallest amplitude that matters, in the unit of the series.
	// Zero takes 0.05 % of the mean speed.
	Least float64
	// MostChance is the greatest chance of a false alarm in a healthy window.
	// Zero takes one in a thousand.
	MostChance float64
}

// Kind is what a window shows.
type Kind string

const (
	// Quiet: no line stands out of the noise.
	Quiet Kind = "quiet"
	// Noise: a line stands out, but it wanders as noise through a lightly
	// damped loop does.
	Noise Kind = "noise"
	// Ringing: an oscillation that dies away.
	Ringing Kind = "ringing"
	// Small: a sustained oscillation too small to matter.
	Small Kind = "small"
	// Sustained: the speed hunts.
	Sustained Kind = "sustained"
	// Unknown: the window cannot tell; see Why.
	Unknown Kind = "unknown"
)

// Finding is what a window shows about hunting.
type Finding struct {
	Kind Kind
	// Why explains Unknown, and what was seen for the other kinds.
	Why string
	// Frequency of the strongest oscillation, Hz, with its standard error.
	Frequency, FrequencyError float64
	// Amplitude is the peak of its fundamental, in the unit of the series.
	Amplitude, AmplitudeError float64
	// Growth is its rate of growth, 1/s; negative dies away.
	Growth, GrowthError float64
	// Confidence that it is a sustained oscillation and not noise, 0 to 1.
	Confidence float64
	// From and To bound the window, s.
	From, To float64

	rising bool // the last third swings more than the first
}

// Hunting tells whether the speed hunts.
func (f Finding) Hunting() bool { return f.Kind == Sustained }

const (
	fewestCycles  = 8.0
	defaultMax    = 25.0   // Hz
	defaultLeast  = 0.0005 // of the mean
	defaultChance = 1e-3
	// fallen is the exponent by which an oscillation must have died away over
	// the window to be a ring: to 60 %.
	fallen = 0.5
)

func (c Config) complete(e *even) Config {
	if c.Min <= 0 {
		c.Min = fewestCycles / e.span()
	}
	if c.Max <= 0 {
		c.Max = defaultMax
	}
	c.Max = math.Min(c.Max, 0.4/e.width)
	if c.Least <= 0 {
		c.Least = defaultLeast * math.Abs(e.level)
	}
	if c.MostChance <= 0 {
		c.MostChance = defaultChance
	}
	return c
}

// Detect looks for a sustained oscillation in a window that holds no step.
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
	e := smoothed(s)
	c = c.complete(&e)
	if c.Max*e.span() < 2*fewestCycles || c.Min >= c.Max {
		return unknown(fmt.Sprintf("a window of %.2f s is too short", s.Span()))
	}
	f := detect(&e, c)
	f.From, f.To = s.T[0], s.T[s.Len()-1]
	if f.Kind == Noise && f.rising {
		return begun(f, s, c)
	}
	return f
}

// begun looks at the later half alone, for hunting that began within the
// window. Looking twice doubles the chance of a false alarm, so that half as
// much is allowed to it.
func begun(whole Finding, s measure.Series, c Config) Finding {
	c.MostChance /= 2
	middle := (whole.From + whole.To) / 2
	half := s.Between(middle, math.Inf(1))
	e := smoothed(half)
	if len(e.y) == 0 {
		return whole
	}
	f := detect(&e, c)
	if !f.Hunting() {
		return whole
	}
	f.From, f.To = half.T[0], whole.To
	f.Why += fmt.Sprintf("; it began after %.2f s", whole.From)
	return f
}

func detect(e *even, c Config) Finding {
	l, ok := strongest(e, math.Max(c.Min, fewestCycles/e.span()), c.Max)
	if !ok || l.chance > c.MostChance {
		return Finding{Kind: Quiet, Why: "no line stands out of the noise"}
	}
	fit, err := sinefit.Damped(e.series(0, len(e.y)), l.frequency)
	if err != nil || math.Abs(fit.Frequency-l.frequency) > 2/e.span() {
		fit, err = sinefit.Three(e.series(0, len(e.y)), l.frequency)
	}
	if err != nil {
		return Finding{Kind: Quiet, Why: "no sine can be fitted to the strongest line"}
	}
	w := listen(e, fit.Frequency)
	chance := math.Max(l.chance, w.chance())
	f := Finding{
		Frequency: fit.Frequency, FrequencyError: fit.FrequencyError,
		Amplitude: w.amplitude / e.passed(fit.Frequency), AmplitudeError: w.scatter / e.passed(fit.Frequency),
		Growth: fit.Growth, GrowthError: fit.GrowthError,
		Confidence: 1 - math.Min(1, chance),
		rising:     w.last > 1.2*w.first,
	}
	f.judge(e, c, chance, w)
	return f
}

// judge decides the kind.
func (f *Finding) judge(e *even, c Config, chance float64, w wave) {
	span := e.span()
	dying := f.Growth*span < -fallen && f.Growth+3*f.GrowthError < 0
	switch {
	case dying && w.last < 0.7*w.first:
		f.Kind = Ringing
		f.Why = fmt.Sprintf("an oscillation of %.3g Hz dies away, to 1/e in %.2g s", f.Frequency, -1/f.Growth)
	case chance > c.MostChance:
		f.Kind = Noise
		f.Why = fmt.Sprintf("what swings near %.3g Hz comes and goes as noise does", f.Frequency)
	case f.Amplitude < c.Least:
		f.Kind = Small
		f.Why = fmt.Sprintf("a steady swing of %.3g at %.3g Hz is below %.3g", f.Amplitude, f.Frequency, c.Least)
	default:
		f.Kind = Sustained
		f.Why = fmt.Sprintf("%.0f cycles of %.3g Hz, as strong at the end as before", f.Frequency*span, f.Frequency)
		if f.Growth*span > fallen && f.Growth > 3*f.GrowthError {
			f.Why = fmt.Sprintf("an oscillation of %.3g Hz grows, by e in %.2g s", f.Frequency, 1/f.Growth)
		}
	}
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
