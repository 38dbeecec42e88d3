package governed

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
	"govrig/rig/measure/response"
	"govrig/rig/phase"
)

// Swaying is how the played speed sways: by many sines at once.
type Swaying struct {
	Period   float64 // s, of which every sine has a whole number of cycles
	From, To float64 // Hz, of the slowest and the quickest sine
	Lines    int     // how many, at most
	// Near, Hz, are the sines in place of those From..To.
	Near []float64
	// Tilt has the slow sines go farther: each by its frequency to the power −Tilt.
	Tilt    float64
	Lead    float64 // s, for the transient to die
	Periods int     // measured after that
}

// Quick is the usual sway, Slow the one for what lies below it. The loop holds slow
// sways down, and the engine's own roughness is slow.
var (
	Quick = Swaying{Period: 8, From: 0.25, To: 8, Lines: 14, Tilt: 0.5, Lead: 4, Periods: 4}
	Slow  = Swaying{Period: 20, From: 0.05, To: 0.2, Lines: 4, Lead: 10, Periods: 2}
)

// harmonics are those of its sines.
func (s Swaying) harmonics() (all []int) {
	if s.Near == nil {
		return response.Harmonics(s.Period, s.From, s.To, s.Lines)
	}
	for _, hertz := range s.Near {
		all = append(all, max(1, int(math.Round(hertz*s.Period))))
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// Swayed is what a sway made.
type Swayed struct {
	Part     execution.Trace
	From, To int // samples of the sway
	// Points are the governor's response, throttle µs over engine rpm, each pulse
	// counted from its end to that of the next; those that stand out of the scatter,
	// of Every.
	Points, Every []response.Point
	// RMS is how far the played speed swayed, rpm, root mean square.
	RMS float64
	// FrameRate is that of the throttle pulses, 1/s; 0 is not known.
	FrameRate float64
	// Low, Mean and High are between which shares of its travel the throttle went, and
	// about which.
	Low, Mean, High float64
	// AtEnds: the throttle came to one of its ends, so that the points show less
	// gain than there is.
	AtEnds bool
}

// Sway lets the played speed sway under the orders that stand, each sine by a
// share of the engine's speed, or as the tilt has it.
func (g *Governor) Sway(t *execution.Test, key phase.Key, s Swaying, share float64) (w Swayed, err error) {
	sines, err := response.NewMultisine(s.Period, s.harmonics(), share*g.Engine())
	if err != nil {
		return w, err
	}
	sines = sines.Tilted(s.Tilt)
	sway := g.Phase(key, s.Lead+s.Period*float64(s.Periods)+0.1)
	for _, l := range sines.Lines {
		sway.Sway = append(sway.Sway, rig.Sine{
			Amplitude: l.Amplitude, Frequency: float64(l.Harmonic) / float64(execution.Steps(s.Period)),
			Phase: l.Phase/(2*math.Pi) + 0.25, // a cosine
		})
	}
	// A pulse is placed ahead: beginning and end of the sway have to be known then.
	before, after := g.fade(phase.Of(phase.Before), &sway, true), g.fade(phase.Of(phase.After), &sway, false)
	if w.Part, _, err = t.Play(before, sway, after, g.Phase(phase.Of(phase.Rest), 0.2)); err != nil {
		return w, err
	}
	w.From, w.To = w.Part.Span(key)
	sines.Start = w.Part.Time[w.From] + s.Lead
	throttle := pulseWidths(w.Part.Pulses)
	if len(throttle.T) == 0 || throttle.T[0] > sines.Start {
		return w, nil
	}
	shares := g.Shares(throttle.Between(sines.Start, w.Part.Time[w.To-1]).Y)
	if len(shares) == 0 {
		return w, nil
	}
	w.Low, w.Mean, w.High = slices.Min(shares), stat.Mean(shares, nil), slices.Max(shares)
	w.AtEnds = w.Low < atEnds || w.High > 1-atEnds
	w.Every, err = response.EstimateHeld(w.Part.PlayedSpeed(w.From, w.To), throttle, sines, 0)
	if err != nil {
		return w, err
	}
	_, w.RMS = stat.PopMeanStdDev(w.Part.PlayedSpeed(w.From, w.To).Between(sines.Start, math.Inf(1)).Y, nil)
	w.FrameRate = frameRate(w.Part.Pulses)
	w.Points = response.Usable(w.Every)
	if w.FrameRate > 0 { // half of it is where a sway is told from its alias no more (sampling theorem)
		w.Points = slices.DeleteFunc(w.Points, func(p response.Point) bool { return p.Frequency > w.FrameRate/2 })
	}
	return w, nil
}

// pulseWidths are the widths of throttle pulses, µs, each from its end on: what a
// servo has of them.
func pulseWidths(pulses []execution.Pulse) (s measure.Series) {
	for _, p := range pulses {
		s.T, s.Y = append(s.T, p.Start+p.Width), append(s.Y, 1e6*p.Width)
	}
	return s
}

// frameRate is how many throttle pulses begin a second; 0 is not known.
func frameRate(pulses []execution.Pulse) float64 {
	starts := make([]float64, len(pulses))
	for i, p := range pulses {
		starts[i] = p.Start
	}
	if rate := pulse.FramesOf(starts).Rate; rate.OK() {
		return rate.Value
	}
	return 0
}

// fadeSteps is how long a sway comes up and dies away, in plant steps: some half a
// second, of which no sine that is played has a whole number of half-cycles.
const fadeSteps = 2100

// fade is a phase in which a sway comes up, or dies away, so that the speed that is
// played never leaps: times 1/2 ∓ cos(πn/N)/2, which makes three sines of each.
func (g *Governor) fade(key phase.Key, sway *rig.Phase, up bool) rig.Phase {
	f := g.Phase(key, fadeSteps*execution.StepTime)
	half, since, sign := 1/(2*float64(f.Steps)), float64(sway.Steps), 1.0
	if up {
		since, sign = -float64(f.Steps), -1
	}
	for _, l := range sway.Sway {
		l.Phase += l.Frequency * since
		f.Sway = append(f.Sway, rig.Sine{Amplitude: l.Amplitude / 2, Frequency: l.Frequency, Phase: l.Phase})
		for _, side := range []float64{-half, half} {
			f.Sway = append(f.Sway, rig.Sine{Amplitude: sign * l.Amplitude / 4, Frequency: l.Frequency + side, Phase: l.Phase})
		}
	}
	return f
}

// atEnds is how near an end of its travel, a share, the throttle is at it.
const atEnds = 0.01

// Room reports whether the throttle has room for a sway so many times as wide.
func (w *Swayed) Room(times float64) bool {
	return w.Mean-times*(w.Mean-w.Low) > 2*atEnds && w.Mean+times*(w.High-w.Mean) < 1-2*atEnds
}

// Opening gives a response with the sense of a throttle that opens as its pulse
// grows, whichever way the servo goes.
func (g *Governor) Opening(points []response.Point) []response.Point {
	turned := slices.Clone(points)
	for i := range turned {
		turned[i].H *= complex(g.Sense(), 0)
	}
	return turned
}

// Sense is 1 where a longer pulse opens the throttle, and −1 where it closes it.
func (g *Governor) Sense() float64 {
	return math.Copysign(1, float64(g.Machine.Servo.OpenPulse-g.Machine.Servo.ClosedPulse))
}
