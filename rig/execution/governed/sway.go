package governed

import (
	"math"
	"slices"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/response"
	"govrig/rig/phase"
)

// Swaying is how the played speed sways: by many sines at once.
type Swaying struct {
	Period   float64 // s, of which every sine has a whole number of cycles
	From, To float64 // Hz, of the slowest and the quickest sine
	Lines    int     // how many, at most
	Lead     float64 // s, for the transient to die
	Periods  int     // measured after that
}

// Quick is the usual sway, Slow the one for what lies below it.
var (
	Quick = Swaying{Period: 8, From: 0.25, To: 8, Lines: 14, Lead: 4, Periods: 4}
	Slow  = Swaying{Period: 20, From: 0.05, To: 0.2, Lines: 4, Lead: 10, Periods: 2}
)

// RigDelay is the time that the rig itself adds between the governor's throttle
// pulse and the simulated servo, s: a pulse waits for the next plant step, half a
// step on the mean. It is taken out of what is measured.
const RigDelay = execution.StepTime / 2

// Swayed is what a sway made.
type Swayed struct {
	Part     execution.Trace
	From, To int // samples of the sway
	// Points are the governor's response, throttle µs over engine rpm, with the
	// rig's own delay taken out; those that stand out of the scatter, of All.
	Points []response.Point
	All    int
	// AtEnds: the throttle came to one of its ends, so that the points show less
	// gain than there is.
	AtEnds bool
}

// Sway lets the played speed sway under the orders that stand, each sine by a
// share of the engine's speed.
func (g *Governor) Sway(t *execution.Test, key phase.Key, s Swaying, share float64) (w Swayed, err error) {
	sines, err := response.NewMultisine(s.Period, response.Harmonics(s.Period, s.From, s.To, s.Lines), share*g.Engine())
	if err != nil {
		return w, err
	}
	sway := g.Phase(key, s.Lead+s.Period*float64(s.Periods)+0.1)
	for _, l := range sines.Lines {
		sway.Sway = append(sway.Sway, rig.Sine{
			Amplitude: l.Amplitude, Frequency: float64(l.Harmonic) / float64(execution.Steps(s.Period)),
			Phase: l.Phase/(2*math.Pi) + 0.25, // a cosine
		})
	}
	// A pulse is placed ahead: beginning and end of the sway have to be known then.
	before, after := g.Phase(phase.Of(phase.Before), 0.2), g.Phase(phase.Of(phase.After), 0.2)
	if w.Part, _, err = t.Play(before, sway, after); err != nil {
		return w, err
	}
	w.From, w.To = w.Part.Span(key)
	w.AtEnds = g.atEnds(w.Part.Throttle[w.From:w.To])
	sines.Start = w.Part.Time[w.From] + s.Lead
	throttle := measure.Series{T: w.Part.Time[w.From:w.To], Y: w.Part.Throttle[w.From:w.To]}
	all, err := response.Estimate(w.Part.PlayedSpeed(w.From, w.To), throttle, sines, 0)
	if err != nil {
		return w, err
	}
	w.Points, w.All = response.Usable(response.WithoutDelay(all, RigDelay)), len(all)
	return w, nil
}

// atEnds reports whether a throttle, µs, comes within 1 % of its travel of either
// end.
func (g *Governor) atEnds(throttle []float64) bool {
	shares := g.Shares(throttle)
	return slices.Min(shares) < 0.01 || slices.Max(shares) > 0.99
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
