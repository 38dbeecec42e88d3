package loop

import (
	"errors"
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Prediction is what the linear loop will do after a sudden change of load.
// It knows no stops, no play and no steps: a real answer is this or worse.
type Prediction struct {
	// Deviation is the greatest departure of speed, with its sign, in the unit
	// of the disturbance response times the size of the step.
	Deviation float64
	// DeviationTime is when, s after the load change.
	DeviationTime float64
	// Recovery runs from the load change to the lasting return within the
	// half width asked for, s; missing when the horizon was too short.
	Recovery measure.Reading
	// Area is ∫(y − y∞)dt over the horizon. For PI control with a load at the
	// plant input it is Ti/Kp times the step (Åström & Hägglund).
	Area float64
	T, Y []float64 // the curve, s and the unit of Deviation
}

// ErrUnstable is returned when there is no steady answer to predict.
var ErrUnstable = errors.New("the loop is unstable or too near to it")

// Step describes a load step to be predicted.
type Step struct {
	// Plant is the open-loop response of speed to the load: Load/(1+L) closes
	// the loop around it. It must fall off at high frequency.
	Plant Response
	// Size is the step of load; negative for a load that slows.
	Size float64
	// Half is half of the tolerance band, in the unit of speed.
	Half float64
	// Horizon is how far to look, s.
	Horizon float64
}

const instants = 1000 // of a predicted curve

// Predict computes the answer of the closed loop to a load step from the
// frequency response alone:
//
//	y(t) = (2/π) ∫ Re[T(jω)] sin(ωt)/ω dω,  T = Size·Plant/(1 + L),
//
// the inverse Fourier integral of a causal step response (Papoulis, The
// Fourier Integral, from memory), with Re[T]/ω taken straight between its
// points and the sine integrated exactly. The band must reach from well below
// 1/Horizon to where |L| and |Plant| have died away.
func Predict(l Response, s Step, b Band) (Prediction, error) {
	if !(s.Horizon > 0) || s.Plant == nil {
		return Prediction{}, fmt.Errorf("a prediction needs a plant and a horizon")
	}
	c, err := sample(l, b)
	if err != nil {
		return Prediction{}, err
	}
	if !c.crossings().stable() {
		return Prediction{}, ErrUnstable
	}
	f := make([]float64, len(c.w))
	for i, w := range c.w {
		f[i] = s.Size * real(s.Plant(w)/(1+c.v[i])) / w
	}
	p := Prediction{T: make([]float64, instants+1), Y: make([]float64, instants+1)}
	for k := range p.T {
		p.T[k] = s.Horizon * float64(k) / instants
		p.Y[k] = 2 / math.Pi * sineIntegral(c.w, f, p.T[k])
	}
	p.read(s, f[0]*c.w[0])
	return p, nil
}

// stable: no gain margin below 1 and no phase margin below zero.
func (m Margins) stable() bool {
	return !(m.Phase.OK() && m.Phase.Value <= 0) && !(m.Gain.OK() && m.Gain.Value <= 1)
}

// sineIntegral is ∫ f(ω)·sin(ωt) dω for f straight between its points, and
// rising from zero to the first of them.
func sineIntegral(w, f []float64, t float64) float64 {
	if t == 0 {
		return 0
	}
	sin0, cos0 := math.Sincos(w[0] * t)
	sum := f[0] * (sin0/(t*t) - w[0]*cos0/t) / w[0]
	for i := 1; i < len(w); i++ {
		sin1, cos1 := math.Sincos(w[i] * t)
		slope := (f[i] - f[i-1]) / (w[i] - w[i-1])
		// ∫ sin = −cos/t; ∫ (ω−a) sin by parts.
		sum += (f[i-1]*cos0-f[i]*cos1)/t + slope*(sin1-sin0)/(t*t)
		sin0, cos0 = sin1, cos1
	}
	return sum
}

func (p *Prediction) read(s Step, final float64) {
	last := -1
	for k, y := range p.Y {
		if math.Abs(y) > math.Abs(p.Deviation) {
			p.Deviation, p.DeviationTime = y, p.T[k]
		}
		if math.Abs(y-final) > s.Half {
			last = k
		}
		if k > 0 {
			p.Area += (y + p.Y[k-1] - 2*final) / 2 * (p.T[k] - p.T[k-1])
		}
	}
	switch {
	case !(s.Half > 0):
		p.Recovery = measure.Missing("no tolerance band was given")
	case last < 0:
		p.Recovery = measure.Read(0, "the speed never leaves the tolerance band")
	case last > instants*9/10:
		p.Recovery = measure.Missing("not back within ±%.4g in %.3g s", s.Half, s.Horizon)
	default:
		edge := final + math.Copysign(s.Half, p.Y[last]-final)
		x := (edge - p.Y[last]) / (p.Y[last+1] - p.Y[last])
		p.Recovery = measure.Read(p.T[last] + x*(p.T[last+1]-p.T[last]))
	}
}
