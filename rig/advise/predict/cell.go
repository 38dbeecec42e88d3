package predict

import (
	"fmt"
	"math"

	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/sim/unit"
)

// Outcome is how a load step ended.
type Outcome string

// Outcomes.
const (
	// Holds: the speed came back and stays.
	Holds Outcome = "holds"
	// NotBack: it was not back when the watching ended.
	NotBack Outcome = "not back"
	// Hunts: it keeps swinging through more than the speed band allowed.
	Hunts Outcome = "hunts"
	// Stalls: the engine died.
	Stalls Outcome = "stalls"
)

// Cell is the answer to the load step under one setting of the governor. What
// could not be read is nil.
type Cell struct {
	Gain    float64 `json:"gain_percent_per_krpm"`
	Time    float64 `json:"integral_time_s"`
	Outcome Outcome `json:"outcome"`
	// Why explains an outcome that is not Holds.
	Why string `json:"why,omitempty"`
	// Deviation is the transient deviation from the steady speed before, in % of the
	// wanted one;
	// a dip is negative.
	Deviation *float64 `json:"transient_deviation_percent"`
	// Recovery is the recovery time, s; 0 when the speed never left the band.
	Recovery *float64 `json:"recovery_time_s"`
	// Band is the speed band over the last quarter of what was watched, in % of
	// the wanted speed.
	Band *float64 `json:"speed_band_percent"`
	// HuntingFrequency in Hz, for Hunts.
	HuntingFrequency *float64 `json:"hunting_hz,omitempty"`
	// GainMargin as a factor and PhaseMargin in degrees are the least of the
	// linearised loop's at both ends of the load step.
	GainMargin  *float64 `json:"gain_margin"`
	PhaseMargin *float64 `json:"phase_margin_deg"`
	// Misses names the limits and margins that a cell which holds misses.
	Misses []string `json:"misses"`
}

// Good is set for a cell that holds and misses nothing.
func (c *Cell) Good() bool { return c.Outcome == Holds && len(c.Misses) == 0 }

// Least margins of a good cell (common practice, no source).
const (
	leastGainMargin  = 2.0  // factor
	leastPhaseMargin = 45.0 // degrees
)

const (
	// tolerance is the band into which the speed must come back, full width, in
	// % of the wanted speed, as in the load-step procedure.
	tolerance = 2.0
	// usualBand is the speed band allowed when the machine file sets none, in
	// %: class G2 of ISO 8528-5 (from memory).
	usualBand = 1.5
)

// read takes the measures of a load step from the speed over time.
func (t *trial) read(c *Cell, s measure.Series, running bool) {
	load := step.AnalyseLoad(s, step.LoadConfig{
		Windows: step.Windows{Event: lead, Before: lead}, Declared: t.declared, Tolerance: tolerance,
	})
	end := s.T[len(s.T)-1]
	quarter := (end - lead) / 4
	last, before := s.Between(end-quarter, end+1), s.Between(end-2*quarter, end-quarter)
	band := step.SteadyBand(last, t.declared)
	c.Deviation, c.Recovery, c.Band = value(load.FromInitial), value(load.RecoveryFromExit), value(band)
	swings, hertz := swinging(s.Between(end-2*quarter, end+1))
	lasts := band.Value > 0.7*step.SteadyBand(before, t.declared).Value
	if c.Recovery == nil && c.Deviation != nil && finding.Settled(last, tolerance/200*t.declared) {
		c.Recovery = back(s, last, tolerance/200*t.declared)
	}
	switch {
	case !running:
		c.Outcome, c.Why, c.Recovery = Stalls, "the engine died", nil
	case band.Value > t.bandLimit() && swings && lasts:
		c.Outcome, c.Recovery, c.HuntingFrequency = Hunts, nil, &hertz
		c.Why = fmt.Sprintf("the speed keeps swinging through %.3g %% at %.2g Hz", band.Value, hertz)
	case c.Recovery == nil:
		c.Outcome, c.Why = NotBack, load.RecoveryFromExit.Why
	default:
		c.Outcome = Holds
	}
}

// back is the time from the load to the lasting return into half a band, either way,
// about the mean of the last that was watched, which has settled but for a drift
// within the band; nil where that lies not all within it.
func back(s, last measure.Series, half float64) *float64 {
	mean, returned := last.Mean(), 0.0
	for i, y := range s.Y {
		if math.Abs(y-mean) > half && s.T[i] > lead {
			returned = s.T[i] - lead
		}
	}
	if returned >= last.T[0]-lead {
		return nil
	}
	return &returned
}

func value(r measure.Reading) *float64 {
	if !r.OK() {
		return nil
	}
	return &r.Value
}

// swinging reports whether the speed passes its mean four times or more, and how
// often it swings, Hz.
func swinging(s measure.Series) (yes bool, hertz float64) {
	mean := s.Mean()
	n, first, last := 0, 0.0, 0.0
	for i := 1; i < s.Len(); i++ {
		if (s.Y[i-1] < mean) != (s.Y[i] < mean) {
			if n++; n == 1 {
				first = s.T[i]
			}
			last = s.T[i]
		}
	}
	if n < 4 {
		return false, 0
	}
	return true, float64(n-1) / 2 / (last - first)
}

// bandLimit is the greatest speed band allowed, %.
func (t *trial) bandLimit() float64 {
	if t.limits.Band != nil {
		return 100 * float64(*t.limits.Band)
	}
	return usualBand
}

// addMargins fills in the margins of the linearised loop.
func (t *trial) addMargins(c *Cell, gain, time float64) error {
	for i := range t.linear {
		m, err := margins(t.gov, &t.linear[i], gain, time)
		if err != nil {
			return err
		}
		c.GainMargin, c.PhaseMargin = lesser(c.GainMargin, m.Gain), lesser(c.PhaseMargin, m.Phase)
	}
	return nil
}

func lesser(least *float64, r measure.Reading) *float64 {
	if !r.OK() || least != nil && *least <= r.Value {
		return least
	}
	return &r.Value
}

// judge notes what a cell that holds misses.
func (t *trial) judge(c *Cell) {
	c.Misses = []string{}
	if c.Outcome != Holds {
		return
	}
	miss := func(yes bool, what string) {
		if yes {
			c.Misses = append(c.Misses, what)
		}
	}
	over := func(v *float64, limit *unit.Share) bool { return v != nil && limit != nil && *v > 100*float64(*limit) }
	dip := -*c.Deviation
	miss(over(&dip, t.limits.Dip), "max_dip")
	miss(over(c.Band, t.limits.Band), "max_speed_band")
	miss(t.limits.RecoveryTime != nil && *c.Recovery > float64(*t.limits.RecoveryTime), "max_recovery_time")
	miss(c.GainMargin != nil && *c.GainMargin < leastGainMargin, "gain margin")
	miss(c.PhaseMargin != nil && *c.PhaseMargin < leastPhaseMargin, "phase margin")
}
