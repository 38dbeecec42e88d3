package table

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/sinefit"
	"govrig/rig/measure/step"
)

// kind is what kind of step a log holds.
type kind int

const (
	noStep kind = iota
	loadStep
	setPoint
)

// steps is the log's event measured as a load step and as a set-point step.
type steps struct {
	kind kind
	load step.Load
	set  step.SetPoint
}

func newSteps(c *collector, o Options) steps {
	if math.IsNaN(c.event) {
		return steps{}
	}
	window := c.window()
	w := step.Windows{Event: c.event}
	s := steps{
		kind: loadStep,
		load: step.AnalyseLoad(window, step.LoadConfig{Windows: w, Declared: o.Declared, Tolerance: o.Band}),
		set:  step.AnalyseSetPoint(window, w),
	}
	// A lasting change of more than half of the greatest departure is a new
	// wanted speed: a step answer overshoots by no more than the step itself.
	change := math.Abs(s.set.Final.Value - s.set.Initial.Value)
	depth := math.Abs(s.load.Extreme.Value - s.set.Initial.Value)
	if s.set.Overshoot.OK() && change >= depth/2 && c.load.direction == 0 {
		s.kind = setPoint
	}
	return s
}

// take puts the measures of the step on the sheet.
func (s steps) take(sheet *measure.Sheet, c *collector, declared float64) {
	if s.kind == noStep {
		none := measure.Missing("no event: say when with --event, or give a load column that changes")
		for _, name := range []string{PeakDeviation, TransientDev, TransientDevFinal, RecoveryTime, RecoveryFromEvent,
			Overshoot, RiseTime, Settling2, Settling5, Droop} {
			sheet.Take(name, none)
		}
		return
	}
	sheet.Take(PeakDeviation, s.load.FromInitial)
	sheet.Take(TransientDev, s.load.FromDeclared)
	sheet.Take(TransientDevFinal, s.load.FromFinal)
	sheet.Take(RecoveryTime, s.load.RecoveryFromExit)
	sheet.Take(RecoveryFromEvent, s.load.RecoveryFromEvent)
	if s.kind == setPoint {
		sheet.Take(Overshoot, s.set.Overshoot)
		sheet.Take(RiseTime, s.set.Rise)
		sheet.Take(Settling2, s.set.Settling2)
		sheet.Take(Settling5, s.set.Settling5)
	} else {
		sheet.Take(Overshoot, s.load.Overswing)
		sheet.Take(RiseTime, measure.Missing("a load step has no rise: the wanted speed stays"))
		sheet.Take(Settling2, s.load.Settling2)
		sheet.Take(Settling5, s.load.Settling5)
	}
	sheet.Take(Droop, s.droop(c, declared))
}

// droop needs to know which side has the more load.
func (s steps) droop(c *collector, declared float64) measure.Reading {
	switch {
	case c.load.direction > 0:
		return step.Droop(s.load.Initial, s.load.Final, declared)
	case c.load.direction < 0:
		return step.Droop(s.load.Final, s.load.Initial, declared)
	}
	return measure.Missing("needs a load column that changes at the event")
}

// takeHunting puts what the scan found on the sheet.
func takeHunting(sheet *measure.Sheet, h hunting.Summary) {
	if h.Kind == hunting.Unknown {
		why := measure.Missing("%s", h.Why)
		sheet.Take(HuntingFrequency, why)
		sheet.Take(HuntingAmplitude, why)
		sheet.Take(HuntingThrottle, why)
		return
	}
	if !h.Finding.Hunting() {
		none := measure.Missing("no hunting: %s", h.Why)
		sheet.Take(HuntingFrequency, none)
		sheet.Take(HuntingAmplitude, measure.Read(0, "no hunting: "+h.Why))
		sheet.Take(HuntingThrottle, none)
		return
	}
	sheet.Take(HuntingFrequency, measure.Read(h.Frequency, h.Why).
		With("standard error %.2g Hz; window %.2f s to %.2f s; %d of %d windows hunt; chance of a false alarm below %s",
			h.FrequencyError, h.From, h.To, h.Hunting, h.Windows, chance(1-h.Confidence)))
	sheet.Take(HuntingAmplitude, measure.Read(h.Swing/2).With("standard error %.2g rpm", h.AmplitudeError))
	sheet.Take(HuntingThrottle, throttleSwing(h))
}

// chance writes a small chance rounded up to a power of ten, for it is an
// estimate.
func chance(p float64) string {
	return fmt.Sprintf("1 in %.0f", math.Pow(10, math.Floor(-math.Log10(math.Max(p, 1e-6)))))
}

func throttleSwing(h hunting.Summary) measure.Reading {
	if h.Throttle.Len() == 0 {
		return measure.Missing("the log has no throttle column")
	}
	fit, err := sinefit.Three(h.Throttle, h.Frequency)
	if err != nil {
		return measure.Missing("%v", err)
	}
	r := measure.Read(fit.Amplitude())
	if fit.Amplitude() < 3*fit.AmplitudeError {
		r = r.Warn("the throttle does not swing with the speed: the engine or the load swings by itself, or the throttle column is stuck")
	}
	return r
}
