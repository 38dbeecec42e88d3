// Package sinefit fits sine waves to sampled data by least squares, in the
// vocabulary of IEEE 1057 and IEEE 1241: three parameters when the frequency
// is known, four when it is not, and a fifth for growth or decay. Times need
// not be even.
package sinefit

import (
	"errors"
	"fmt"
	"math"

	"govrig/rig/measure"
)

// ErrFit is wrapped when data does not determine a fit.
var ErrFit = errors.New("no fit")

// Sine is y = A·cos ωt + B·sin ωt + C, with t the time of the series itself,
// or with growth e^{σ(t−t0)} before the bracket of A and B.
type Sine struct {
	Frequency float64 // Hz
	A, B, C   float64 // unit of the data
	Growth    float64 // σ, 1/s; negative decays; zero for an undamped fit
	Origin    float64 // t0 of the growth, the middle of the data, s
	Residual  float64 // root mean square residual, unit of the data
	Steps     int     // iterations taken

	// Standard errors, when the residual is white; the Cramér-Rao bound.
	FrequencyError, AmplitudeError, GrowthError float64
}

// Amplitude is √(A²+B²): the peak, half of the peak-to-peak, at Origin.
func (s Sine) Amplitude() float64 { return math.Hypot(s.A, s.B) }

// Phase is atan2(−B, A), so that y = Amplitude·cos(ωt + Phase) + C.
func (s Sine) Phase() float64 { return math.Atan2(-s.B, s.A) }

// At is the fitted value at time t.
func (s Sine) At(t float64) float64 {
	sin, cos := math.Sincos(2 * math.Pi * s.Frequency * t)
	return math.Exp(s.Growth*(t-s.Origin))*(s.A*cos+s.B*sin) + s.C
}

const (
	mostSteps = 40
	converged = 1e-10 // relative change of frequency
)

// Three fits A, B and C at a known frequency, Hz.
func Three(s measure.Series, frequency float64) (Sine, error) {
	if err := check(s, frequency, 4); err != nil {
		return Sine{}, err
	}
	fit := start(s, frequency)
	if err := fit.linear(s); err != nil {
		return Sine{}, err
	}
	fit.Residual = fit.rms(s)
	n := float64(s.Len())
	fit.AmplitudeError = fit.Residual * math.Sqrt(2/n)
	return fit, nil
}

// Four fits A, B, C and the frequency, starting near the frequency given, Hz.
func Four(s measure.Series, near float64) (Sine, error) {
	return iterate(s, near, false)
}

// Damped fits A, B, C, the frequency and the rate of growth or decay.
func Damped(s measure.Series, near float64) (Sine, error) {
	return iterate(s, near, true)
}

func check(s measure.Series, frequency float64, fewest int) error {
	switch {
	case s.Validate() != nil:
		return fmt.Errorf("%w: %w", ErrFit, s.Validate())
	case s.Len() < fewest:
		return fmt.Errorf("%w: %d samples are too few", ErrFit, s.Len())
	case !(frequency > 0) || math.IsInf(frequency, 0):
		return fmt.Errorf("%w: frequency %g Hz", ErrFit, frequency)
	}
	return nil
}

func start(s measure.Series, frequency float64) Sine {
	return Sine{Frequency: frequency, Origin: (s.T[0] + s.T[s.Len()-1]) / 2}
}

// iterate is Gauss-Newton on the frequency (and the growth), with the linear
// parameters solved anew at every step. A step that does not lessen the
// residual is halved.
func iterate(s measure.Series, near float64, damped bool) (Sine, error) {
	if err := check(s, near, 8); err != nil {
		return Sine{}, err
	}
	fit := start(s, near)
	if err := fit.linear(s); err != nil {
		return Sine{}, err
	}
	fit.Residual = fit.rms(s)
	for fit.Steps = 1; fit.Steps <= mostSteps; fit.Steps++ {
		dw, dg, err := fit.direction(s, damped)
		if err != nil {
			return Sine{}, err
		}
		next, better := fit.step(s, dw, dg)
		if !better {
			break // as good as the arithmetic allows
		}
		moved := fit.share(next.Frequency-fit.Frequency, next.Growth-fit.Growth)
		next.Steps = fit.Steps
		fit = next
		if moved < converged {
			break
		}
	}
	if fit.Steps > mostSteps {
		return Sine{}, fmt.Errorf("%w: %d steps from %g Hz did not converge", ErrFit, mostSteps, near)
	}
	return fit, fit.errors(s, damped)
}

// share is a change of frequency (Hz) and growth relative to the frequency.
func (f Sine) share(frequency, growth float64) float64 {
	return (math.Abs(frequency) + math.Abs(growth)/(2*math.Pi)) / f.Frequency
}

// step tries a correction, halving it until the residual falls or the
// correction has become too small to matter.
func (f Sine) step(s measure.Series, dw, dg float64) (next Sine, better bool) {
	for f.share(dw/(2*math.Pi), dg) > converged {
		next = f
		next.Frequency += dw / (2 * math.Pi)
		next.Growth += dg
		if next.Frequency > 0 && next.linear(s) == nil {
			if next.Residual = next.rms(s); next.Residual < f.Residual {
				return next, true
			}
		}
		dw, dg = dw/4, dg/4
	}
	return f, false
}

func (f Sine) rms(s measure.Series) float64 {
	sum := 0.0
	for i, t := range s.T {
		r := s.Y[i] - f.At(t)
		sum += r * r
	}
	return math.Sqrt(sum / float64(s.Len()))
}
