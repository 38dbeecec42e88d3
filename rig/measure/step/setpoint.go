package step

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

// SetPoint holds the answer to a sudden change of the wanted speed (or any
// step that ends at a new level). Times are seconds.
type SetPoint struct {
	Initial, Final measure.Reading // levels before and after
	// Overshoot is how far the answer goes past the new level, in % of the
	// change of level. Zero when it does not.
	Overshoot measure.Reading
	// PeakTime is when the greatest overshoot came, after the command.
	PeakTime measure.Reading
	// Delay runs from the command to half of the change of level.
	Delay measure.Reading
	// Rise runs from the last passing of 10 % to the first of 90 % of the
	// change of level.
	Rise measure.Reading
	// Settling2 and Settling5 run from the command until the answer stays
	// within ±2 % or ±5 % of the change of level about the new level.
	Settling2, Settling5 measure.Reading
}

// clearOf is how many times its noise a change of level must measure before
// shares of it mean anything.
const clearOf = 4

// AnalyseSetPoint measures one set-point step. The series should hold one
// event only.
func AnalyseSetPoint(s measure.Series, w Windows) SetPoint {
	a, err := cut(s, w)
	if err != nil {
		return noSetPoint(err.Error())
	}
	change := a.final.value - a.initial.value
	if err := a.changed(); err != nil {
		m := noSetPoint(err.Error())
		m.Initial, m.Final = a.level(a.initial, math.Abs(change)), a.level(a.final, math.Abs(change))
		return m
	}
	half2 := 0.02 * math.Abs(change)
	p := SetPoint{
		Initial:   a.level(a.initial, half2),
		Final:     a.level(a.final, half2),
		Settling2: a.stays(half2),
		Settling5: a.stays(0.05 * math.Abs(change)),
	}
	if why, _ := a.final.settled(0.05 * math.Abs(change)); why != "" {
		m := measure.Missing("%s", why)
		p.Final, p.Overshoot, p.PeakTime, p.Delay, p.Rise = m, m, m, m, m
		return p
	}
	p.Overshoot, p.PeakTime = a.overshoot(change)
	p.Delay, p.Rise = a.rise(change)
	return p
}

// changed reports whether there are two levels to speak of.
func (a *answer) changed() error {
	change := math.Abs(a.final.value - a.initial.value)
	noise := math.Max(a.initial.half, a.final.half)
	depth := math.Abs(a.after.Y[a.peak] - a.initial.value)
	if change < clearOf*noise || change < 0.02*depth {
		return fmt.Errorf("no lasting change of level: %.4g before, %.4g after, noise ±%.3g",
			a.initial.value, a.final.value, noise)
	}
	return nil
}

func (a *answer) overshoot(change float64) (share, when measure.Reading) {
	far, at := 0.0, 0
	for i, y := range a.after.Y {
		if d := (y - a.final.value) * math.Copysign(1, change); d > far {
			far, at = d, i
		}
	}
	noise := a.final.half
	share = measure.Read(100*far/math.Abs(change)).
		With("of the change from %.6g to %.6g", a.initial.value, a.final.value)
	if far <= 1.5*noise {
		// What goes past the level is what goes past it in the steady window
		// too: the answer itself does not overshoot.
		share.Value = 0
		if noise > 0.001*math.Abs(change) {
			share = share.Warn("an overshoot below the noise (%.2g %%) cannot be seen", 100*noise/math.Abs(change))
		}
		return share, measure.Missing("no overshoot")
	}
	if noise > 0.1*far {
		share = share.Warn("holds noise of up to %.2g %%", 100*noise/math.Abs(change))
	}
	return share, measure.Read(a.after.T[at] - a.event)
}

func (a *answer) rise(change float64) (delay, rise measure.Reading) {
	t90, i90, ok := a.passes(a.initial.value+0.9*change, change, a.after.Len()-1)
	if !ok {
		m := measure.Missing("the answer never passes 90 %% of the change")
		return m, m
	}
	t10 := a.lastBelow(a.initial.value+0.1*change, change, i90)
	t50, _, _ := a.passes(a.initial.value+0.5*change, change, i90)
	rise = measure.Read(t90 - t10)
	if dt := a.after.Interval(); t90-t10 < 2*dt {
		rise = rise.Warn("about as short as the time between samples, %.4g s", dt)
	}
	return measure.Read(t50 - a.event), rise
}

// passes finds the first moment at which the answer reaches a value, and the
// sample just before it, looking no further than sample end.
func (a *answer) passes(value, change float64, end int) (t float64, before int, ok bool) {
	for i := 1; i <= min(end+1, a.after.Len()-1); i++ {
		if (a.after.Y[i]-value)*change >= 0 {
			return crossing(a.after, i-1, value), i - 1, true
		}
	}
	return 0, 0, false
}

// lastBelow finds the last moment up to sample end at which the answer was
// still short of a value.
func (a *answer) lastBelow(value, change float64, end int) float64 {
	for i := end; i >= 0; i-- {
		if (a.after.Y[i]-value)*change < 0 {
			return crossing(a.after, i, value)
		}
	}
	return a.after.T[0]
}

func noSetPoint(why string) SetPoint {
	m := measure.Missing("%s", why)
	return SetPoint{m, m, m, m, m, m, m, m}
}
