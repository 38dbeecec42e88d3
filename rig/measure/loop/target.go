package loop

import (
	"fmt"
	"math"
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

// met tells whether margins reach the target.
func (t Target) met(m Margins) bool {
	if !m.stable() {
		return false
	}
	return !(t.Phase > 0 && m.Phase.OK() && m.Phase.Value < t.Phase) &&
		!(t.Gain > 0 && m.Gain.OK() && m.Gain.Value < t.Gain) &&
		!(t.Sensitivity > 0 && m.Sensitivity.Value > t.Sensitivity)
}

// Interval is the range of gain factors, relative to the gain as it is, within
// which a target is met. PI control needs some gain too, so it has two ends.
type Interval struct{ Low, High float64 }

const (
	widest  = 32.0 // factor of gain searched either way
	factors = 81   // factors tried over that range
)

// Within finds the gain factors that reach the target, around the highest one
// that does. The error says how near one comes when none does.
func Within(l Response, b Band, t Target) (Interval, error) {
	c, err := sample(l, b)
	if err != nil {
		return Interval{}, err
	}
	return c.within(t)
}

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
		return Interval{}, fmt.Errorf("loop: no gain reaches %s; best phase margin %.3g°", t, c.best())
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

// factorReading gives the highest factor that reaches the target and, as its
// detail, the range that two standard deviations leave open.
func (c curve) factorReading(t Target, u Spread) (measure.Reading, Interval) {
	i, err := c.within(t)
	if err != nil {
		return measure.Missing("%s", err), i
	}
	r := measure.Read(i.High)
	if i.High >= widest {
		return r.Warn("the target is met up to the end of the search, a factor of %g", widest), i
	}
	worse, errWorse := c.turned(-2 * u.Phase).within(t)
	better, errBetter := c.turned(2 * u.Phase).within(t)
	if errWorse != nil || errBetter != nil {
		return r.Warn("within the uncertainty of the phase the target may be out of reach"), i
	}
	g := 2 * u.Gain
	return r.With("%.3g to %.3g with the uncertainty of the measurement (2 standard deviations)",
		worse.High/(1+g), better.High/math.Max(0.01, 1-g)), i
}

// turned is the loop with so many degrees more phase at every frequency.
func (c curve) turned(degrees float64) curve {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return c.times(complex(cos, sin))
}
