package loop

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"govrig/rig/measure"
)

// Target is what a loop should keep. A zero is not asked for.
type Target struct {
	Phase       float64 // least phase margin, degrees
	Gain        float64 // least gain margin, factor
	Sensitivity float64 // greatest |1/(1+L)|
}

func (t Target) String() string {
	var s []string
	if t.Phase > 0 {
		s = append(s, fmt.Sprintf("phase margin %.3g°", t.Phase))
	}
	if t.Gain > 0 {
		s = append(s, fmt.Sprintf("gain margin %.3g dB", Decibels(t.Gain)))
	}
	if t.Sensitivity > 0 {
		s = append(s, fmt.Sprintf("sensitivity peak %.3g", t.Sensitivity))
	}
	return strings.Join(s, ", ")
}

// met reports whether margins reach the target. A margin that the band does
// not show reaches none; of a gain margin that it bounds, the bound counts.
func (t Target) met(m Margins) bool {
	if !m.stable() {
		return false
	}
	return !(t.Phase > 0 && !(m.Phase.OK() && m.Phase.Value >= t.Phase)) &&
		!(t.Gain > 0 && !(m.GainAtLeast.OK() && m.GainAtLeast.Value >= t.Gain)) &&
		!(t.Sensitivity > 0 && m.Sensitivity.Value > t.Sensitivity)
}

// Interval is the range of gain factors, relative to the gain as it is, within
// which a target is met. PI control needs some gain too, so it has two ends.
type Interval struct{ Low, High float64 }

const (
	widest  = 32.0 // factor of gain searched either way
	factors = 81   // factors tried over that range
)

// within finds the gain factors that reach the target, around the highest one
// that does. The error says how near one comes when none does.
func (c curve) within(t Target) (Interval, error) {
	met := func(k float64) bool {
		scaled := c.times(complex(k, 0))
		m := scaled.crossings()
		if t.Sensitivity > 0 {
			m.peaks(scaled)
		}
		return t.met(m)
	}
	high := factors - 1
	for high >= 0 && !met(factor(high)) {
		high--
	}
	if high < 0 {
		return Interval{}, fmt.Errorf("no gain reaches %s; best phase margin %.3g°", t, c.best())
	}
	low := high
	for low > 0 && met(factor(low-1)) {
		low--
	}
	i := Interval{Low: factor(low), High: factor(high)}
	if low > 0 {
		i.Low = edge(met, factor(low), factor(low-1))
	}
	if high < factors-1 {
		i.High = edge(met, factor(high), factor(high+1))
	}
	return i, nil
}

func factor(i int) float64 {
	return math.Pow(widest, 2*float64(i)/(factors-1)-1)
}

// edge narrows down where met stops, between a factor that is met and one that
// is not.
func edge(met func(float64) bool, in, out float64) float64 {
	for range 30 {
		if m := math.Sqrt(in * out); met(m) {
			in = m
		} else {
			out = m
		}
	}
	return in
}

// best is the greatest phase margin that any gain gives, degrees.
func (c curve) best() float64 {
	greatest := math.Inf(-1)
	for i := range factors {
		m := c.times(complex(factor(i), 0)).crossings()
		if m.stable() && m.Phase.OK() {
			greatest = math.Max(greatest, m.Phase.Value)
		}
	}
	return greatest
}

// Spread is the uncertainty of a measured loop near its crossover, one
// standard deviation.
type Spread struct {
	Gain  float64 // relative: 0.05 is 5 %
	Phase float64 // degrees
}

// factorReading gives the highest factor that reaches the target, whether it
// is only what the band lets one say, and, as its detail, the range that two
// standard deviations leave open.
func (c curve) factorReading(t Target, u func(omega float64) Spread) (r measure.Reading, i Interval, atLeast bool) {
	i, err := c.within(t)
	if err != nil {
		return measure.Missing("%s", err), i, false
	}
	r = measure.Read(i.High)
	if i.High >= widest {
		return r.Warn("the target is met up to the end of the search, a factor of %g", widest), i, true
	}
	if c.endsWithBand(t, i.High) {
		atLeast = true
		r = r.Warn("at least: beyond %.3g Hz nothing was measured", c.band.Max/(2*math.Pi))
	}
	if u == nil {
		return r, i, atLeast
	}
	worse, errWorse := c.turned(u, -2).within(t)
	better, errBetter := c.turned(u, 2).within(t)
	if errWorse != nil || errBetter != nil {
		return r.Warn("within the uncertainty of the phase the target may be out of reach"), i, atLeast
	}
	return r.With("%.3g to %.3g with the uncertainty of the measurement (2 standard deviations)",
		worse.High, better.High), i, atLeast
}

// endsWithBand reports whether it is the end of the band, and no margin that
// was seen, that a somewhat higher factor would miss.
func (c curve) endsWithBand(t Target, k float64) bool {
	m := c.times(complex(1.001*k, 0)).crossings()
	return !m.Gain.OK() && !(m.GainAtLeast.OK() && m.GainAtLeast.Value >= t.Gain)
}

// turned is the loop with so many standard deviations less gain and more phase
// at every frequency.
func (c curve) turned(u func(omega float64) Spread, deviations float64) curve {
	change := func(w float64) complex128 {
		s := u(w)
		gain := math.Max(0.01, 1-deviations*s.Gain)
		return cmplx.Rect(gain, deviations*s.Phase*math.Pi/180)
	}
	out := curve{band: c.band, w: c.w, v: make([]complex128, len(c.v))}
	out.l = func(w float64) complex128 { return change(w) * c.l(w) }
	for i, w := range c.w {
		out.v[i] = change(w) * c.v[i]
	}
	return out
}
