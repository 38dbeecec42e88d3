package step

import (
	"math"

	"govrig/rig/measure"
)

// Stretches is a steady window that is read stretch by stretch as it comes, so that
// no more than one has to be kept. Of one stretch it reads what MeanSpeed and
// SteadyBand do; of several, that of all.
type Stretches struct {
	mean            measure.Reading // of the newest, or of one that has none
	several         bool
	area, time      float64 // speed over time of all, and that time, s
	from            float64 // s
	least, greatest float64
	warnings        []string
}

// Add adds the next stretch.
func (s *Stretches) Add(window measure.Series) {
	if !s.mean.OK() {
		return // nothing can be said of all any more
	}
	s.mean, s.several = MeanSpeed(window), s.time > 0
	if !s.mean.OK() {
		return
	}
	least, greatest := window.Extent()
	if !s.several {
		s.from, s.least, s.greatest = window.T[0], least, greatest
	}
	s.least, s.greatest = math.Min(s.least, least), math.Max(s.greatest, greatest)
	s.area += s.mean.Value * window.Span()
	s.time += window.Span()
	s.warnings = append(s.warnings, s.mean.Warnings...)
}

// Mean is the mean speed over time of all stretches.
func (s *Stretches) Mean() measure.Reading {
	if !s.mean.OK() || !s.several {
		return s.mean
	}
	return s.with(measure.Read(s.area / s.time))
}

// Band is the steady-state speed band of all stretches together, in % of the
// declared speed.
func (s *Stretches) Band(declared float64) measure.Reading {
	if !s.mean.OK() {
		return s.mean
	}
	return s.with(measure.Read(100 * (s.greatest - s.least) / declared))
}

// with says of what window a reading is.
func (s *Stretches) with(r measure.Reading) measure.Reading {
	r = r.With("window %.2f s from %.2f s", s.time, s.from)
	r.Warnings = s.warnings
	return r
}
