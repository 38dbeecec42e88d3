package step

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// fewest is the least number of samples that make a steady window.
const fewest = 8

// SteadyBand is the steady-state speed band β of ISO 8528-5: the full width
// of the envelope, greatest less least, over the whole of the window given,
// in % of the declared speed. The width grows with the length of the window,
// so the window is stated in the reading.
func SteadyBand(window measure.Series, declared float64) measure.Reading {
	if why := unfit(window, declared); why != "" {
		return measure.Missing("%s", why)
	}
	least, greatest := window.Extent()
	r := measure.Read(100*(greatest-least)/declared).
		With("window %.2f s from %.2f s", window.Span(), window.T[0])
	return warnGaps(r, window)
}

// MeanSpeed is the mean over time of the window given, in the unit of the
// series. Irregular sampling does not shift it.
func MeanSpeed(window measure.Series) measure.Reading {
	if why := unfit(window, 1); why != "" {
		return measure.Missing("%s", why)
	}
	r := measure.Read(mean(window, flat)).
		With("window %.2f s from %.2f s", window.Span(), window.T[0])
	return warnGaps(r, window)
}

// Droop is the speed droop δ of ISO 8528-5: the steady speed without load less
// the steady speed at load, setting unchanged, in % of the declared speed.
// Zero is isochronous; a governor that lets the speed sag has positive droop.
func Droop(unloaded, loaded measure.Reading, declared float64) measure.Reading {
	switch {
	case !unloaded.OK():
		return measure.Missing("no steady speed without load: %s", unloaded.Why)
	case !loaded.OK():
		return measure.Missing("no steady speed at load: %s", loaded.Why)
	case !(declared > 0):
		return measure.Missing("no declared speed to divide by")
	}
	return measure.Read(100 * (unloaded.Value - loaded.Value) / declared)
}

func unfit(window measure.Series, declared float64) string {
	switch {
	case window.Validate() != nil:
		return window.Validate().Error()
	case window.Len() < fewest:
		return "too few samples in the window"
	case !(declared > 0) || math.IsInf(declared, 0):
		return "no declared speed to divide by"
	}
	return ""
}

func warnGaps(r measure.Reading, window measure.Series) measure.Reading {
	for _, g := range window.Gaps() {
		r = r.Warn("no samples from %.3f s to %.3f s", g.From, g.To)
	}
	return r
}

// taper weighs a moment in a window; x runs from 0 at its start to 1.
type taper func(x float64) float64

func flat(float64) float64 { return 1 }

// hann weighs the middle of a window most, so that what is left of a ringing
// hardly shifts the level read from it.
func hann(x float64) float64 { return 0.5 - 0.5*math.Cos(2*math.Pi*x) }

// mean is the tapered mean over time, each sample standing for the stretch
// half-way to its neighbours.
func mean(s measure.Series, w taper) float64 {
	n := s.Len()
	if n == 1 {
		return s.Y[0]
	}
	t0, span := s.T[0], s.Span()
	// Sums of departures from the first value keep constant data exact.
	sum, weight := 0.0, 0.0
	for i := range s.T {
		dt := s.T[min(i+1, n-1)] - s.T[max(i-1, 0)]
		k := dt * w((s.T[i]-t0)/span)
		sum += k * (s.Y[i] - s.Y[0])
		weight += k
	}
	return s.Y[0] + sum/weight
}

// level is a steady level and what is known of its steadiness.
type level struct {
	Drift          // over the window
	longer Drift   // over the stretch before it as well
	value  float64 // tapered mean
	half   float64 // greatest departure from it in the window
	rms    float64 // root mean square departure
	from   float64 // start of the window, s
	to     float64 // end of the window, s
	depth  float64 // the greatest departure before it, 0 when not known
	// unclear says why it may be no final level at all, or is empty.
	unclear string
}

// readLevel reads a level from a window of at least fewest samples, which is
// the later part of a longer one.
func readLevel(window, longer measure.Series) level {
	n := window.Len()
	l := level{
		Drift: DriftOf(window), longer: DriftOf(longer),
		value: mean(window, hann),
		from:  window.T[0], to: window.T[n-1],
	}
	for _, y := range window.Y {
		d := y - l.value
		l.half = math.Max(l.half, math.Abs(d))
		l.rms += d * d
	}
	l.rms = math.Sqrt(l.rms / float64(n))
	return l
}

// settled tells how far a level can be trusted that may be off by half at the
// most: why not at all, or a warning, or neither.
func (l level) settled(half float64) (why, warning string) {
	if l.unclear != "" {
		return l.unclear, ""
	}
	moved := math.Abs(l.Rate) * l.Span
	switch {
	case l.creeps() && (!l.Settled(half) || l.depth > 0 && moved > l.depth/5):
		return l.creep(), ""
	case l.Seen() && math.Abs(l.Ahead()) > half/25:
		return "", l.creep()
	}
	return "", ""
}

// creep says how fast the speed still drifts.
func (l level) creep() string {
	return fmt.Sprintf("the speed still drifts by %.2g per second (%.2g %%/s) from %.2f s to %.2f s",
		l.Rate, 100*l.Rate/math.Abs(l.value), l.from, l.to)
}

// creeps reports whether the speed is on its way to a level: it drifts, and has
// drifted no slower the same way just before. The wandering of an
// unevenly firing engine, or the rest of a ring, does not keep its way.
func (l level) creeps() bool {
	return l.Seen() && l.longer.Seen() && l.longer.Rate/l.Rate > 0.8
}
