package gallery

import (
	"math"
	"math/cmplx"
	"slices"
)

// filter makes a rate of pulses out of intervals.
type filter interface {
	add(interval float64)
	// rate is in pulses a tick; 0 while none is known.
	rate() float64
	reset()
	// response is that of the rate, seen at any moment, to the true one, at
	// ω rad/s, where pulses are period s apart. An interval is the mean over
	// itself, and the newest is half a period old on the mean.
	response(omega, period float64) complex128
}

// average is over the newest n intervals: n over their sum.
type average struct {
	n    int
	kept []float64
}

func (f *average) add(interval float64) {
	f.kept = append(f.kept, interval)
	f.kept = f.kept[max(0, len(f.kept)-f.n):]
}

func (f *average) rate() float64 {
	if len(f.kept) == 0 {
		return 0
	}
	sum := 0.0
	for _, t := range f.kept {
		sum += t
	}
	return float64(len(f.kept)) / sum
}
func (f *average) reset() { f.kept = nil }

func (f *average) response(omega, period float64) complex128 {
	return mean(omega, float64(f.n)*period) * late(omega, period/2)
}

// lag is of first order, with a time constant in ticks, on the rate v of each
// interval T: v += (1/T − v)·T/(lag + T).
type lag struct {
	constant, tickRate float64
	v                  float64
}

func (f *lag) add(interval float64) {
	if f.v == 0 {
		f.v = 1 / interval
		return
	}
	f.v += (1/interval - f.v) * interval / (f.constant*f.tickRate + interval)
}
func (f *lag) rate() float64 { return f.v }
func (f *lag) reset()        { f.v = 0 }

// response with a = T/(lag + T): a/(1 − (1−a)·z⁻¹), z = e^{jωT}.
func (f *lag) response(omega, period float64) complex128 {
	a := period / (f.constant + period)
	z := cmplx.Rect(1, -omega*period)
	return complex(a, 0) / (1 - complex(1-a, 0)*z) * mean(omega, period) * late(omega, period/2)
}

// median is the middle one of the newest three intervals: one odd interval does
// not get through.
type median struct{ kept []float64 }

func (f *median) add(interval float64) {
	f.kept = append(f.kept, interval)
	f.kept = f.kept[max(0, len(f.kept)-3):]
}

func (f *median) rate() float64 {
	if len(f.kept) == 0 {
		return 0
	}
	sorted := slices.Clone(f.kept)
	slices.Sort(sorted)
	return 1 / sorted[len(sorted)/2]
}
func (f *median) reset() { f.kept = nil }

// response is one interval late, for a speed that goes one way meanwhile.
func (f *median) response(omega, period float64) complex128 {
	return mean(omega, period) * late(omega, 1.5*period)
}

// mean is the response of the mean over the newest time, s.
func mean(omega, time float64) complex128 {
	x := omega * time / 2
	if x == 0 {
		return 1
	}
	return complex(math.Sin(x)/x, 0) * late(omega, time/2)
}

// late is that of a delay, s.
func late(omega, time float64) complex128 { return cmplx.Rect(1, -omega*time) }
