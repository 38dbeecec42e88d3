package runlog

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// Bounds of the numbers in a record: beyond anything that a run comes to.
const (
	mostTicks   = 1 << 53
	mostSamples = 1_000_000_000
	mostPhases  = 100_000
	mostEvents  = 1_000_000
	mostPoints  = 100_000 // of a curve, or of things to draw
	mostSize    = 1e15    // of a number that is drawn or told
)

// within reports whether numbers are such as can be drawn and told.
func within(values ...float64) bool {
	for _, v := range values {
		if !(math.Abs(v) <= mostSize) {
			return false
		}
	}
	return true
}

func (i *Info) check() error {
	switch {
	case i.TickHz == 0:
		return fmt.Errorf("tick_hz is 0: without a rate of ticks there is no time")
	case i.StepTicks < 0 || i.StepTicks > mostTicks:
		return fmt.Errorf("step_ticks is %d", i.StepTicks)
	case i.Baud < 0:
		return fmt.Errorf("baud is %d", i.Baud)
	}
	return nil
}

func (e *End) check() error {
	switch e.Reason {
	case Complete, Stopped, Error, "": // none: a record that a program other than a procedure has made
	default:
		return fmt.Errorf("the reason %.50q is none of %s, %s and %s", e.Reason, Complete, Stopped, Error)
	}
	if e.Outcome != "" && !e.Outcome.Known() {
		return fmt.Errorf("there is no outcome %.50q", e.Outcome)
	}
	if e.Ticks < 0 || e.Ticks > mostTicks || e.Samples < 0 || e.Samples > mostSamples {
		return fmt.Errorf("%d samples up to the tick %d make no sense", e.Samples, e.Ticks)
	}
	if c := e.Clock; c != nil && (!(math.Abs(c.Fast) < 0.5) || !(c.Uncertainty >= 0) || !within(c.Uncertainty)) {
		return fmt.Errorf("clock_error makes no sense: fast %g, uncertainty %g", c.Fast, c.Uncertainty)
	}
	return e.checkCurves()
}

// checkCurves looks at what is to be drawn.
func (e *End) checkCurves() error {
	if max(len(e.Loops), len(e.Gains), len(e.Views)) > mostPoints {
		return fmt.Errorf("it has more curves than anybody can look at")
	}
	for i := range e.Loops {
		l := &e.Loops[i]
		n := len(l.Frequency)
		if len(l.Gain) != n || len(l.Phase) != n || n > mostPoints {
			return fmt.Errorf("loops, %d: %d frequencies, %d gains and %d phases", i+1, n, len(l.Gain), len(l.Phase))
		}
		if !within(l.Gain...) || !within(l.Phase...) || !positive(l.Frequency) || !within(l.Crossover, l.PhaseCrossover) {
			return fmt.Errorf("loops, %d: a number makes no sense", i+1)
		}
	}
	for i, g := range e.Gains {
		if !within(g.Gain, g.Dip, at(g.Phase), at(g.Margin)) {
			return fmt.Errorf("gains, %d: a number makes no sense", i+1)
		}
	}
	for i := range e.Views {
		if !e.Views[i].sensible() {
			return fmt.Errorf("views, %d: a number makes no sense", i+1)
		}
	}
	return nil
}

// positive reports whether frequencies are such that their logarithm can be drawn.
func positive(values []float64) bool {
	for _, v := range values {
		if !(v > 1/mostSize && v <= mostSize) {
			return false
		}
	}
	return true
}

// at is an end that may be open.
func at(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

func (v *View) sensible() bool {
	good := within(v.From, v.To, v.Origin, v.Wanted) && len(v.Beyond) <= mostPoints && len(v.Marks) <= mostPoints && len(v.Notes) <= mostPoints
	for _, g := range v.Beyond {
		good = good && within(at(g.From), at(g.To), at(g.Low), at(g.High))
	}
	for _, m := range v.Marks {
		good = good && within(m.At, m.Speed)
	}
	return good
}

// sampleCheck looks at the samples of a record one after the other.
type sampleCheck struct {
	n     int64
	ticks int64
}

func (c *sampleCheck) next(s *Sample) error {
	c.n++
	switch {
	case s.Ticks < c.ticks:
		return fmt.Errorf("sample %d: time goes backwards", c.n)
	case s.Ticks > mostTicks:
		return fmt.Errorf("sample %d: its time makes no sense", c.n)
	case s.Phase < 0 || s.Phase >= mostPhases:
		return fmt.Errorf("sample %d: there is no phase %d", c.n, s.Phase)
	case !within(s.State.EngineSpeed, s.Played, s.State.HeadSpeed, s.Throttle, s.State.Opening,
		s.State.EngineTorque, s.State.LoadTorque, s.Collective):
		return fmt.Errorf("sample %d: a number makes no sense", c.n)
	}
	c.ticks = s.Ticks
	return nil
}

// checkResult looks at a result document.
func checkResult(r *measure.Result) error {
	if r.Schema != measure.Schema {
		return fmt.Errorf("it has the form %.50q, this govrig reads %q", r.Schema, measure.Schema)
	}
	return r.Check()
}
