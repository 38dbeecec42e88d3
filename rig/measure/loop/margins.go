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
const perDecade = 200

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
	// GainAtLeast is the factor by which the gain can rise at the least, as far
	// as the band tells: that of Gain or, where the phase does not come to −180°
	// in the band, what brings the gain up to 1 at its upper end. Beyond the
	// band nothing is known, so it is no margin without end.
	GainAtLeast measure.Reading
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
var ErrBand = errors.New("bad frequency band")

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

// curve is a response sampled over a band, and times a factor.
type curve struct {
	band Band
	l    Response
	w    []float64
	v    []complex128
}

func sample(l Response, b Band) (curve, error) {
	if err := b.validate(); err != nil {
		return curve{}, err
	}
	c := curve{band: b, l: l, w: b.points()}
	c.v = make([]complex128, len(c.w))
	for i, w := range c.w {
		if c.v[i] = l(w); cmplx.IsNaN(c.v[i]) || cmplx.IsInf(c.v[i]) {
			return curve{}, fmt.Errorf("the response at %g rad/s is not finite", w)
		}
	}
	return c, nil
}

// times multiplies the response by a factor, complex to turn its phase.
func (c curve) times(factor complex128) curve {
	out := curve{band: c.band, w: c.w, v: make([]complex128, len(c.v))}
	out.l = func(w float64) complex128 { return factor * c.l(w) }
	for i := range c.v {
		out.v[i] = factor * c.v[i]
	}
	return out
}

// MarginsOf reads the margins of a loop from the frequencies in the band. What
// does not happen inside the band is missing.
func MarginsOf(l Response, b Band) (Margins, error) {
	c, err := sample(l, b)
	if err != nil {
		return Margins{}, err
	}
	return c.margins(), nil
}

func (c curve) margins() Margins {
	m := c.crossings()
	m.peaks(c)
	return m
}

// crossings are the margins but for the peaks.
func (c curve) crossings() Margins {
	var m Margins
	m.gainCrossings(c)
	m.phaseCrossings(c)
	m.gainBound(c)
	return m
}

func (m *Margins) gainCrossings(c curve) {
	side := "is below 1 everywhere"
	if above(c.v[0]) {
		side = "is above 1 everywhere"
	}
	none := measure.Missing("the gain %s between %.4g and %.4g rad/s: where it crosses 1 lies outside", side, c.band.Min, c.band.Max)
	m.Crossover, m.Phase, m.Delay = none, none, none
	for i := 1; i < len(c.w); i++ {
		if above(c.v[i-1]) == above(c.v[i]) {
			continue
		}
		wc := root(func(x float64) float64 { return math.Log(cmplx.Abs(c.l(x))) }, c.w[i-1], c.w[i])
		phase := 180 / math.Pi * cmplx.Phase(-c.l(wc))
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

// above reports whether a gain is at least 1.
func above(v complex128) bool { return real(v)*real(v)+imag(v)*imag(v) >= 1 }

func (m *Margins) phaseCrossings(c curve) {
	none := measure.Missing("the phase does not cross -180° between %.4g and %.4g rad/s", c.band.Min, c.band.Max)
	m.PhaseCrossover, m.Gain, m.GainDown = none, none, none
	for i := 1; i < len(c.w); i++ {
		v0, v1 := c.v[i-1], c.v[i]
		if (imag(v0) >= 0) == (imag(v1) >= 0) || real(v0) > 0 || real(v1) > 0 {
			continue
		}
		w180 := root(func(x float64) float64 { return imag(c.l(x)) }, c.w[i-1], c.w[i])
		factor := 1 / cmplx.Abs(c.l(w180))
		lost := imag(v1) > 0 // the phase falls through −180°
		switch {
		case lost && (!m.Gain.OK() || factor < m.Gain.Value):
			m.Gain, m.PhaseCrossover = measure.Read(factor), measure.Read(w180)
		case !lost && factor < 1 && (!m.GainDown.OK() || factor > m.GainDown.Value):
			m.GainDown = measure.Read(factor)
		}
	}
}

// gainBound works out by how much the gain can rise at the least.
func (m *Margins) gainBound(c curve) {
	if m.GainAtLeast = m.Gain; m.Gain.OK() {
		return
	}
	end := cmplx.Abs(c.v[len(c.v)-1])
	if end >= 1 || end == 0 {
		m.GainAtLeast = measure.Missing("the gain is still %.3g at the end of the band, %.4g rad/s", end, c.band.Max)
		return
	}
	m.GainAtLeast = measure.Read(1/end).With("at least, from what is known up to %.4g rad/s", c.band.Max)
}
