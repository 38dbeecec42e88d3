package throttle

import (
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure/pulse"
	"govrig/rig/phase"
)

// A governor that opens the throttle evenly shows widths that lie evenly, too, as
// if they were steps. A pickup speed that goes slowly through all settings, up and
// down, and sways by several sines on the way shows its own (our own).
const (
	fineTime    = 8.0  // s, each way
	fineMargin  = 0.05 // beyond the lowest and the highest setting, share
	surelyFine  = 2.0  // µs, a step that is no matter, however it was found
	fineSettled = 0.3  // s
)

// sways are amplitudes, shares of the speed, and frequencies, Hz; each goes through
// whole cycles, so that no speed leaps at the end.
var sways = [][2]float64{{0.005, 7 / fineTime}, {0.004, 22 / fineTime}, {0.002, 39 / fineTime}}

// fine plays that speed where what was seen so far does not tell the step.
func (l *throttleTest) fine() error {
	steps := pulse.StepsOf(l.governing, l.resolution())
	if l.turn == 0 || steps.Kind == pulse.Finer || steps.Kind == pulse.Staircase && 1e6*steps.Step < surelyFine {
		return nil
	}
	l.Kind = "fine changes"
	g := &l.T.Bench.Machine.Governor
	low, high := (1-fineMargin)*float64(g.SpeedLow), (1+fineMargin)*float64(g.SpeedHigh)
	if err := l.Reset(low); err != nil {
		return err
	}
	start := l.Phase(l.up, low, fineSettled)
	part, _, err := l.T.Play(start, l.glide(high, 1), l.glide(low, 2), start)
	if err != nil {
		return err
	}
	from, _ := part.Span(phase.Key{Kind: l.Kind, Number: 1})
	for _, p := range part.Pulses {
		if p.Start > part.Time[from] {
			l.governing = append(l.governing, p.Width)
		}
	}
	return l.Reset(l.turn)
}

// glide goes to a speed in a straight line, swaying.
func (l *throttleTest) glide(to float64, number int) rig.Phase {
	p := l.Phase(l.up, to, fineTime)
	p.Key.Number = number
	p.Turn, p.Ramp = to, p.Steps
	for _, s := range sways {
		p.Sway = append(p.Sway, rig.Sine{Amplitude: s[0] * to, Frequency: s[1] / float64(execution.Steps(1))})
	}
	return p
}
