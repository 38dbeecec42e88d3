package sweep

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

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
	// Response is the measured governor, throttle µs over engine rpm, with the
	// rig's own delay taken out.
	Response []response.Point
	// Fit describes it as PI with dead time. Unfit says why it does not; the fit is
	// not to be gone by then.
	Fit     response.Fit
	Unfit   string
	Margins loop.Margins
	// Loop is governor times plant, for ω in rad/s. Where a dead band takes its
	// share of the sway it is that of a sway without end.
	Loop response.Measured
	// Plant is from throttle pulse (µs) to engine speed (rpm).
	Plant  loop.Response
	linear heli.Linear
	// Amplitudes is what a second amplitude showed; its Kind is empty where none
	// was tried. Sway is how far the speed swayed, of its speed, root mean square.
	Amplitudes response.Comparison
	Sway       float64
	// Doubt is by how much the scatter of the rig's own loop delay may have
	// moved the phase margin, degrees.
	Doubt float64
	// spread is that scatter, s; sense is that of the throttle's pulse.
	spread, sense float64
}

// fewest lines that make a response.
const fewest = 4

// read turns a sway into the governor's response and margins.
func (p *SweepPoint) read(g *governed.Governor, w governed.Swayed) (err error) {
	if p.Response = w.Points; len(p.Response) < fewest {
		return &UnsweptError{fmt.Sprintf("only %d of %d sines stood out of the scatter", len(p.Response), w.All)}
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
	slices.SortFunc(p.Response, func(a, b response.Point) int {
		if a.Frequency < b.Frequency {
			return -1
		}
		return 1
	})
	if p.Loop, err = response.WithPlant(p.Response, p.Plant); err != nil {
		return &UnsweptError{err.Error()}
	}
	if p.Amplitudes.Kind == response.DeadBand && p.Amplitudes.Beyond.OK() {
		p.Loop.Loop = p.Loop.Loop.Scaled(p.Amplitudes.Beyond.Value)
	}
	if p.Margins, err = loop.MarginsOf(p.Loop.Loop, p.Loop.Band); err != nil {
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

// tooSlow reports whether what decides lies below the lines that were played: the
// crossover, or the corner of the integral.
func (p *SweepPoint) tooSlow() bool {
	below := !p.Margins.Crossover.OK() && cmplx.Abs(p.Loop.Loop(p.Loop.Band.Min)) < 1
	corner := p.Unfit == "" && (math.IsInf(p.Fit.Ti, 0) || p.Fit.TiError > knownTi*p.Fit.Ti)
	return below || corner
}

// knownTi is the standard error, a share, up to which an integral time is known.
const knownTi = 0.25

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
