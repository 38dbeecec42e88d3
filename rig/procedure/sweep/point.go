package sweep

import (
	"fmt"
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// SweepPoint is one speed setting under one load.
type SweepPoint struct {
	Name       string // of the load, after that of the setting where there are several
	Setting    machine.SpeedSetting
	Load       measure.Load
	Collective float64 // rad
	// Response is the measured governor, throttle µs over engine rpm.
	Response []response.Point
	// Fit describes it as PI with dead time. Unfit says why it does not; the fit is
	// not to be gone by then.
	Fit     response.Fit
	Unfit   string
	Margins loop.Margins
	// Loop is governor times plant, for ω in rad/s.
	Loop response.Measured
	// Plant is from throttle pulse (µs) to engine speed (rpm).
	Plant  loop.Response
	linear heli.Linear
	// Amplitudes is what a second amplitude showed; its Kind is empty where none
	// was tried. Sway is how far the speed swayed, rpm, root mean square.
	Amplitudes response.Comparison
	Sway       float64
	// DeadBand is half the width of the band in which the governor does nothing, a
	// share of the wanted speed; 0 is none.
	DeadBand float64
	// Doubt is by how much the scatter of the rig's own loop delay may have
	// moved the phase margin, degrees.
	Doubt float64
	// spread is that scatter, s; sense is that of the throttle's pulse.
	spread, sense float64
	// share is that of the speed by which each sine swayed, top the quickest sway
	// that could be measured, Hz.
	share, top float64
	swayed     governed.Swayed // the sway whose lines Response has
	half       float64         // of a dead band, rpm, as two amplitudes show it
	coarse     bool            // the steps of the output take their share of the narrower
	// phaseDoubt, degrees, and gainDoubt, dB, are the uncertainty of the margins.
	phaseDoubt, gainDoubt float64
}

// fewest lines that make a response.
const fewest = 4

// read turns a sway into the governor's response and margins.
func (p *SweepPoint) read(t *execution.Test, g *governed.Governor, w governed.Swayed) (err error) {
	p.Sway, p.swayed, p.top = w.RMS, w, reachOf(t, g.Machine, &w)
	if p.Response = w.Points; len(p.Response) < fewest {
		return &UnsweptError{fmt.Sprintf("only %d of the sines stood out of the scatter", len(p.Response))}
	}
	speed := step.MeanSpeed(w.Part.HeadSpeed(w.From, w.To))
	plant := heli.New(g.Machine.HeliParams(), execution.StepTime)
	if p.linear, err = plant.Linearise(speed.Value/execution.RPM, p.Collective); err != nil {
		return &UnsweptError{err.Error()}
	}
	p.Plant = func(w float64) complex128 { return p.linear.Response(complex(0, w)) * complex(execution.RPM*1e-6, 0) }
	return p.assemble(g)
}

// assemble works out the loop, its margins and the fit from the response.
func (p *SweepPoint) assemble(g *governed.Governor) (err error) {
	if p.Loop, err = response.WithPlant(p.Response, p.Plant); err != nil {
		return &UnsweptError{err.Error()}
	}
	if p.Margins, err = loop.MarginsOf(p.Loop.Loop, p.Loop.Band); err != nil {
		return &UnsweptError{err.Error()}
	}
	if err = p.uncertain(); err != nil {
		return &UnsweptError{err.Error()}
	}
	p.doubt()
	p.sense = g.Sense()
	fit, err := response.FitPI(g.Opening(p.Response))
	p.Fit, p.Unfit = fit, ""
	switch {
	case err != nil:
		p.Unfit = "no PI controller with dead time describes it: " + err.Error()
	case !fit.Good():
		p.Unfit = fmt.Sprintf("a PI controller with dead time does not describe it: it is off by %.0f %% on the whole, and by %.0f %% at one line", 100*fit.Residual, 100*fit.Worst)
	}
	return nil
}

// quickFrom is the frequency, Hz, from which on a governor's integral adds little.
const quickFrom = 1.0

// Gain is the governor's gain, µs for 1000 rpm: that of the fit, or else the mean
// of what was measured at the quick lines.
func (p *SweepPoint) Gain() float64 {
	if p.Unfit == "" {
		return p.Fit.Kp * 1e3
	}
	sum, n := 0.0, 0.0
	for _, line := range p.Response {
		if line.Frequency >= quickFrom {
			sum, n = sum+math.Log(line.Gain()), n+1
		}
	}
	return math.Exp(sum/n) * 1e3
}

// equivalentStep is the change of collective, rad, that in the linear plant of
// this point makes the same change of load torque as the whole load step does
// in the real one, whose torque grows faster than its pitch. ok is false where the
// engine cannot hold it.
func (p *SweepPoint) equivalentStep(b *execution.Bench) (size float64, ok bool) {
	const d = 0.1 / execution.Degrees
	low, high := float64(b.Machine.LoadStep.CollectiveLow), float64(b.Machine.LoadStep.CollectiveHigh)
	var at [4]float64
	for i, collective := range []float64{low, high, p.Collective - d, p.Collective + d} {
		plant := heli.New(b.Machine.HeliParams(), execution.StepTime)
		if plant.Start(p.linear.HeadSpeed, collective) != nil {
			return 0, false
		}
		at[i] = plant.State().LoadTorque
	}
	return (at[1] - at[0]) / (at[3] - at[2]) * 2 * d, true
}
