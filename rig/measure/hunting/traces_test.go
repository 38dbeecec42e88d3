package hunting

import (
	"math"
	"math/rand/v2"

	"govrig/rig/measure"
)

const rate = 500.0

func sampled(length float64, f func(t float64) float64) measure.Series {
	var s measure.Series
	for i := range int(length * rate) {
		t := float64(i) / rate
		s.T, s.Y = append(s.T, t), append(s.Y, f(t))
	}
	return s
}

// resonance is white noise through a second-order loop of natural frequency f
// (Hz) and damping ζ, with a standard deviation of one.
func resonance(rng *rand.Rand, f, zeta float64) func() float64 {
	w, dt := 2*math.Pi*f, 1/rate
	r := math.Exp(-zeta * w * dt)
	c := 2 * r * math.Cos(w*math.Sqrt(1-zeta*zeta)*dt)
	// Variance of an AR(2) process: text-book formula.
	p1, p2 := c, -r*r
	gain := math.Sqrt((1 + p2) * ((1-p2)*(1-p2) - p1*p1) / (1 - p2))
	y1, y2 := 0.0, 0.0
	return func() float64 {
		y := p1*y1 + p2*y2 + gain*rng.NormFloat64()
		y2, y1 = y1, y
		return y
	}
}

// wander is slow noise: a random walk pulled back over tau seconds, standard
// deviation one.
func wander(rng *rand.Rand, tau float64) func() float64 {
	a := math.Exp(-1 / (tau * rate))
	y := rng.NormFloat64()
	return func() float64 {
		y = a*y + math.Sqrt(1-a*a)*rng.NormFloat64()
		return y
	}
}

func quantised(y, q float64) float64 {
	if q == 0 {
		return y
	}
	return q * math.Round(y/q)
}

// healthy is a steady log of a well-damped loop: measuring noise, noise that
// the loop has coloured, slow wander, and the resolution of the log.
func healthy(seed uint64) measure.Series {
	rng := rand.New(rand.NewPCG(seed, 11))
	coloured := resonance(rng, 0.4+3*rng.Float64(), 0.25+0.5*rng.Float64())
	slow := wander(rng, 0.3+5*rng.Float64())
	a, b, c := 20*rng.Float64(), 20*rng.Float64(), 20*rng.Float64()
	q := []float64{0, 1, 10}[rng.IntN(3)]
	return sampled(8+32*rng.Float64(), func(float64) float64 {
		return quantised(16000+a*rng.NormFloat64()+b*coloured()+c*slow(), q)
	})
}
