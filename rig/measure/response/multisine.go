// Package response measures frequency response in closed loop: sine lines are
// injected, and the governor's transfer function is read at those lines from
// what speed and throttle did, with coherence and confidence.
package response

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrInput is wrapped when an excitation or a record cannot be used.
var ErrInput = errors.New("bad input")

// Line is one sine of an excitation, Amplitude·cos(2πft + Phase).
type Line struct {
	Harmonic  int     // whole number of cycles in the period
	Amplitude float64 // unit of what is injected
	Phase     float64 // rad
}

// Multisine is a sum of sines that repeats. A single sine is a multisine of
// one line.
type Multisine struct {
	Period float64 // s
	Start  float64 // time of the first period, s
	Lines  []Line
}

// NewMultisine makes lines of equal amplitude at whole harmonics of the
// period, with the phases of Schroeder (IEEE Trans. Inf. Theory 16, 1970, from
// memory), φ_k = −πk(k−1)/K, which keep the peak low.
func NewMultisine(period float64, harmonics []int, amplitude float64) (Multisine, error) {
	m := Multisine{Period: period}
	for k, h := range harmonics {
		m.Lines = append(m.Lines, Line{
			Harmonic: h, Amplitude: amplitude,
			Phase: -math.Pi * float64(k) * float64(k+1) / float64(len(harmonics)),
		})
	}
	return m, m.Validate()
}

// Tilted gives the same lines with amplitudes that go as their frequency to the
// power −tilt and the same root mean square, at Schroeder's phases for lines that
// differ: φ_k = −2π·Σ_{l<k}(k−l)·p_l, p the share of the power.
func (m Multisine) Tilted(tilt float64) Multisine {
	lines, square, power := slices.Clone(m.Lines), 0.0, 0.0
	for k := range lines {
		square += lines[k].Amplitude * lines[k].Amplitude
		lines[k].Amplitude *= math.Pow(float64(lines[k].Harmonic), -tilt)
		power += lines[k].Amplitude * lines[k].Amplitude
	}
	phase, step := 0.0, 0.0 // φ_k, and by how much it grows to the next
	for k := range lines {
		lines[k].Amplitude *= math.Sqrt(square / power)
		lines[k].Phase = phase
		step -= 2 * math.Pi * lines[k].Amplitude * lines[k].Amplitude / square
		phase += step
	}
	m.Lines = lines
	return m
}

// Validate refuses an excitation with nothing in it or with doubled lines.
func (m Multisine) Validate() error {
	if !(m.Period > 0) || math.IsInf(m.Period, 0) || len(m.Lines) == 0 {
		return fmt.Errorf("%w: a period of %g s with %d lines", ErrInput, m.Period, len(m.Lines))
	}
	seen := map[int]bool{}
	for _, l := range m.Lines {
		if l.Harmonic < 1 || seen[l.Harmonic] || !(l.Amplitude > 0) {
			return fmt.Errorf("%w: line at harmonic %d, amplitude %g", ErrInput, l.Harmonic, l.Amplitude)
		}
		seen[l.Harmonic] = true
	}
	return nil
}

// Frequency is that of line k, Hz.
func (m Multisine) Frequency(k int) float64 { return float64(m.Lines[k].Harmonic) / m.Period }

// At is the value at time t, s.
func (m Multisine) At(t float64) float64 {
	sum := 0.0
	for k, l := range m.Lines {
		sum += l.Amplitude * math.Cos(2*math.Pi*m.Frequency(k)*(t-m.Start)+l.Phase)
	}
	return sum
}

// Peak is the greatest magnitude over one period, sampled 32 times per cycle
// of the highest line.
func (m Multisine) Peak() float64 {
	top := 1
	for _, l := range m.Lines {
		top = max(top, l.Harmonic)
	}
	peak := 0.0
	for i := range 32 * top {
		peak = math.Max(peak, math.Abs(m.At(m.Start+m.Period*float64(i)/float64(32*top))))
	}
	return peak
}

// Harmonics chooses up to n whole harmonics of a period between two
// frequencies (Hz), spaced evenly in the logarithm.
func Harmonics(period, from, to float64, n int) []int {
	var out []int
	for i := range n {
		x := 0.0
		if n > 1 {
			x = float64(i) / float64(n-1)
		}
		h := int(math.Round(period * from * math.Pow(to/from, x)))
		if h >= 1 && (len(out) == 0 || h > out[len(out)-1]) {
			out = append(out, h)
		}
	}
	return out
}
