package hunting

// Kind is what a window shows.
type Kind string

const (
	// Quiet: no line stands out of the noise.
	Quiet Kind = "quiet"
	// Noise: a line stands out, but it comes and goes as noise through a
	// lightly damped loop does: roughness of the engine, not hunting.
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
	// Swing is the whole of it, peak to peak of the mean cycle, harmonics
	// included; no less than twice the amplitude of a sine.
	Swing float64
	// Growth is its rate of growth, 1/s; negative dies away.
	Growth, GrowthError float64
	// Confidence that it is a sustained oscillation and not noise, 0 to 1.
	Confidence float64
	// Lowest is the lowest frequency that the window could have shown, Hz, and
	// Highest the highest. Of slower and faster swings the finding says nothing.
	Lowest, Highest float64
	// From and To bound the window, s.
	From, To float64
}

// Hunting reports whether the speed hunts.
func (f Finding) Hunting() bool { return f.Kind == Sustained }
