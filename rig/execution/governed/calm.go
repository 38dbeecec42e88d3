package governed

import (
	"math"
	"math/cmplx"
	"slices"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
	"govrig/rig/measure/response"
	"govrig/rig/phase"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/dyno"
)

// Calm is a governor's own response, measured on a dynamometer on which it cannot
// hunt, as it is there whatever the machine.
type Calm struct {
	Points []response.Point
	// Fit describes them; it is to be believed where Fitted is set.
	Fit    response.Fit
	Fitted bool
	// Amplitudes is how the response changes where the speed sways farther.
	Amplitudes response.Comparison
	// Deaf: it answers the farther sway only.
	Deaf bool
}

const (
	// calmGain is what is aimed at for the governor's gain times what the throttle
	// moves the speed by: well below 1, so that no delay makes it hunt.
	calmGain = 0.2
	calmRate = 100.0 // rad/s², of the run-up
	calmTime = 8.0   // s, to settle
	// meanWithin is how near the wanted speed the mean of a swing has to be, a share.
	meanWithin = 0.03
	// The sines, shares of the engine's speed; smaller where the throttle is at
	// its ends.
	calmShare, calmLeast = 0.0012, 0.0001
	// fartherBy is how much farther it sways for comparison, and fewestSteps by how
	// many of its own steps the throttle has to move for that.
	fartherBy, fewestSteps = 5, 4
)

// MeasureCalm runs the governor up on a dynamometer and measures its response.
// The dynamometer gives way by as much as the machine does at the frequency at
// which it hunts, or less. ok is false where that cannot be had.
func (g *Governor) MeasureCalm(t *execution.Test, s Swing) (c Calm, ok bool, err error) {
	plant, lineErr := s.plant()
	if lineErr != nil || s.Frequency <= 0 {
		return c, false, nil
	}
	g.Setting, g.Orders = s.setting, s.orders
	servo := g.Machine.Servo
	travel := math.Abs(float64(servo.OpenPulse - servo.ClosedPulse))
	give := calmGain * cmplx.Abs(plant(2*math.Pi*s.Frequency)) / execution.RPM * 1e6 * travel
	if held, err := g.onDyno(t, g.calmSpeed(s), give); err != nil || !held {
		return c, false, err
	}
	swayed, share, ok, err := g.swayFree(t, s.Frequency)
	if err != nil || !ok {
		return c, false, err
	}
	farther, err := g.Sway(t, g.Key("farther sway on the dynamometer"), calmSwaying(s.Frequency), fartherBy*share)
	if err != nil {
		return c, false, err
	}
	c.compare(&swayed, &farther, s.known(t).Quantum)
	if len(c.Points) < fewestLines {
		return c, false, nil
	}
	c.describe(g.Opening(c.Points), swayed.Part.Pulses)
	return c, true, nil
}

// compare sets the response to the usual sway beside that to a farther one: what is
// passed on of the farther only, or more of it, shows a dead band. A throttle that
// moves by few of its own steps, quantum, µs, shows none.
func (c *Calm) compare(usual, farther *Swayed, quantum float64) {
	c.Points = usual.Points
	low, high := measure.Series{Y: usual.Part.Throttle[usual.From:usual.To]}.Extent()
	switch {
	case farther.AtEnds || high-low < fewestSteps*quantum && high > low:
	case len(usual.Points) < fewestLines && len(farther.Points) >= fewestLines:
		c.Deaf, c.Points = true, farther.Points
	default:
		c.Amplitudes = response.Compare(usual.Points, farther.Points)
	}
}

// calmSpeed is where to run the dynamometer, rad/s: at the mean of the swing, unless
// that is so far from the wanted speed that it tells of throttle and clutch rather than
// of what the governor is set to.
func (g *Governor) calmSpeed(s Swing) float64 {
	if mean := s.mean(); math.Abs(mean/g.Engine()-1) < meanWithin {
		return mean
	}
	return g.Engine()
}

// describe fits a PI controller with dead time to what lies well below the rate of
// the servo frames: the steps from frame to frame are none of it.
func (c *Calm) describe(points []response.Point, pulses []execution.Pulse) {
	var starts []float64
	for _, p := range pulses {
		starts = append(starts, p.Start)
	}
	rate := pulse.FramesOf(starts).Rate
	if !rate.OK() {
		return
	}
	slow := slices.DeleteFunc(points, func(p response.Point) bool { return p.Frequency > rate.Value/4 })
	fit, err := response.FitPI(slow)
	c.Fit, c.Fitted = fit, err == nil && len(slow) >= fewestLines && fit.Good()
}

// swayFree sways by as much as keeps the throttle off its ends.
func (g *Governor) swayFree(t *execution.Test, frequency float64) (w Swayed, share float64, ok bool, err error) {
	number := 1
	for share = calmShare; share >= calmLeast; share /= 3 {
		key := g.Key("sway on the dynamometer")
		key.Number = number
		if w, err = g.Sway(t, key, calmSwaying(frequency), share); err != nil || !w.AtEnds {
			return w, share, err == nil, err
		}
		number++
	}
	return w, share, false, nil
}

// calmSwaying is how to sway for a governor that hunts so many times a second.
func calmSwaying(frequency float64) Swaying {
	if frequency < 2*Quick.From {
		return calmSlow
	}
	return calmQuick
}

// Both go beyond what a healthy loop needs: one with far too much gain has its margins
// there.
var (
	calmQuick = Swaying{Period: Quick.Period, From: Quick.From, To: 2 * Quick.To, Lines: 17, Lead: Quick.Lead, Periods: 2}
	calmSlow  = Swaying{Period: Slow.Period, From: Slow.From, To: Quick.To, Lines: 16, Lead: Slow.Lead, Periods: 2}
)

// fewestLines of a multisine make a response.
const fewestLines = 4

// onDyno runs the governor up on a dynamometer that holds about a speed, rad/s, and
// gives way by so much.
func (g *Governor) onDyno(t *execution.Test, speed, give float64) (held bool, err error) {
	servo := g.Machine.Servo
	p := dyno.Params{
		Idle: float64(g.Machine.Engine.IdleSpeed), Wanted: speed, Rate: calmRate, Give: give,
		Closed: float64(servo.ClosedPulse), Open: float64(servo.OpenPulse), Ratio: g.Machine.Ratio(),
	}
	t.Record.Event(runlog.EventPlant, runlog.Plant{Kind: "dynamometer", Parameters: p})
	t.Use(func(step float64) sim.Plant { return dyno.New(p, step) })
	g.Orders.Stick = g.Stick(0)
	idle := g.Phase(phase.Of(phase.Idle), IdleTime)
	g.Orders.Stick = g.Stick(g.Up)
	_, held, err = t.Play(idle, g.Settled(phase.Of(phase.SpoolUp), SpoolLimit, SettleTime), g.Phase(phase.Of(phase.Settling), calmTime))
	return held, err
}
