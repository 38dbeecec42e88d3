package loop

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"govrig/rig/measure"
)

// Band is a range of frequency, rad/s.
type Band struct{ Min, Max float64 }

// perDecade is how densely a band is searched before a crossing is refined.
const perDecade = 400

// Margins are the stability margins of a loop (any control text-book). Where
// the loop crosses more than once, each is the smallest. They speak of
// stability only for a loop that is stable when its gain is small, as a
// governor with its engine is.
type Margins struct {
	// Crossover is the highest frequency at which |L| = 1, rad/s.
	Crossover measure.Reading
	// Phase is the phase margin in degrees, negative when unstable.
	Phase measure.Reading
	// Delay is the dead time that would use up the phase margin, s.
	Delay measure.Reading
	// PhaseCrossover is the frequency at which the phase is −180° and the gain
	// margin is read, rad/s.
	PhaseCrossover measure.Reading
	// Gain is the factor by which the gain can rise before the loop is
	// unstable; below 1 when it is unstable already.
	Gain measure.Reading
	// GainDown is the factor to which the gain can fall before a loop that is
	// only conditionally stable is lost.
	GainDown measure.Reading
	// Sensitivity is the greatest |1/(1+L)|, and SensitivityAt where, rad/s.
	Sensitivity, SensitivityAt measure.Reading
	// Complementary is the greatest |L/(1+L)|, and ComplementaryAt where.
	Complementary, ComplementaryAt measure.Reading
}

// Decibels is 20·log10 of a gain.
func Decibels(gain float64) float64 { return 20 * math.Log10(gain) }

// ErrBand is returned for a band in which nothing can be searched.
var ErrBand = errors.New("loop: bad frequency band")

func (b Band) validate() error {
	if !(b.Min > 0) || !(b.Max > b.Min) || math.IsInf(b.Max, 0) {
		return fmt.Errorf("%w: %g to %g rad/s", ErrBand, b.Min, b.Max)
	}
	return nil
}

func (b Band) points() []float64 {
	n := int(math.Ceil(perDecade*math.Log10(b.Max/b.Min))) + 2
	w := make([]float64, n)
	for i := range w {
		w[i] = b.Min * math.Pow(b.Max/b.Min, float64(i)/float64(n-1))
	}
	return w
}

// MarginsOf reads the margins of a loop from the frequencies in the band. What
// does not happen inside the band is missing.
func MarginsOf(l Response, b Band) (Margins, error) {
	if err := b.validate(); err != nil {
		return Margins{}, err
	}
	w := b.points()
	v := make([]complex128, len(w))
	for i := range w {
		if v[i] = l(w[i]); cmplx.IsNaN(v[i]) || cmplx.IsInf(v[i]) {
			return Margins{}, fmt.Errorf("loop: the response at %g rad/s is not finite", w[i])
		}
	}
	var m Margins
	m.gainCrossings(l, w, v, b)
	m.phaseCrossings(l, w, v, b)
	m.peaks(l, w)
	return m, nil
}

func (m *Margins) gainCrossings(l Response, w []float64, v []complex128, b Band) {
	none := measure.Missing("the gain does not cross 1 between %.4g and %.4g rad/s", b.Min, b.Max)
	m.Crossover, m.Phase, m.Delay = none, none, none
	for i := 1; i < len(w); i++ {
		if (cmplx.Abs(v[i-1]) >= 1) == (cmplx.Abs(v[i]) >= 1) {
			continue
		}
		wc := root(func(x float64) float64 { return math.Log(cmplx.Abs(l(x))) }, w[i-1], w[i])
		phase := 180 / math.Pi * cmplx.Phase(-l(wc))
		m.Crossover = measure.Read(wc)
		if !m.Phase.OK() || math.Abs(phase) < math.Abs(m.Phase.Value) {
			m.Phase = measure.Read(phase)
		}
		// Dead time turns clockwise: all of the way round if need be.
		delay := math.Mod(phase+360, 360) * math.Pi / 180 / wc
		if !m.Delay.OK() || delay < m.Delay.Value {
			m.Delay = measure.Read(delay)
		}
	}
	if m.Phase.OK() && m.Phase.Value < 0 {
		m.Delay = measure.Missing("the loop is unstable as it is")
	}
}

func (m *Margins) phaseCrossings(l Response, w []float64, v []complex128, b Band) {
	none := measure.Missing("the phase does not cross -180° between %.4g and %.4g rad/s", b.Min, b.Max)
	m.PhaseCrossover, m.Gain, m.GainDown = none, none, none
	for i := 1; i < len(w); i++ {
		if (imag(v[i-1]) >= 0) == (imag(v[i]) >= 0) || real(v[i-1]) > 0 || real(v[i]) > 0 {
			continue
		}
		w180 := root(func(x float64) float64 { return imag(l(x)) }, w[i-1], w[i])
		factor := 1 / cmplx.Abs(l(w180))
		lost := imag(v[i]) > 0 // the phase falls through −180°
		switch {
		case lost && (!m.Gain.OK() || factor < m.Gain.Value):
			m.Gain, m.PhaseCrossover = measure.Read(factor), measure.Read(w180)
		case !lost && factor < 1 && (!m.GainDown.OK() || factor > m.GainDown.Value):
			m.GainDown = measure.Read(factor)
		}
	}
}

func (m *Margins) peaks(l Response, w []float64) {
	s := func(x float64) float64 { return 1 / cmplx.Abs(1+l(x)) }
	t := func(x float64) float64 { return cmplx.Abs(l(x) / (1 + l(x))) }
	m.Sensitivity, m.SensitivityAt = peak(s, w)
	m.Complementary, m.ComplementaryAt = peak(t, w)
}

// peak finds the greatest value of f on a grid and refines it by golden
// section. At the end of the grid it is what the band shows, with a warning.
func peak(f func(float64) float64, w []float64) (height, at measure.Reading) {
	best := 0
	for i := range w {
		if f(w[i]) > f(w[best]) {
			best = i
		}
	}
	if best == 0 || best == len(w)-1 {
		const end = "greatest at the end of the band"
		return measure.Read(f(w[best]), end), measure.Read(w[best], end)
	}
	x := golden(f, w[best-1], w[best+1])
	return measure.Read(f(x)), measure.Read(x)
}
