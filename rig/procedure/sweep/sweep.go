package sweep

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// The sway that a sweep plays.
const (
	sweepPeriod  = 8.0 // s
	sweepPeriods = 4   // measured, after one for the transient to die
	sweepFrom    = 0.25
	sweepTo      = 8.0
	sweepLines   = 14
	sweepShare   = 0.0025 // of the engine's speed, each line, at first
	sweepLeast   = 0.0002 // and at the least
)

// rigDelay is the time that the rig itself adds between the governor's
// throttle pulse and the simulated servo, s: a pulse waits for the next plant
// step, half a step on the mean. It is taken out of what is measured.
const rigDelay = execution.StepTicks / 2 / 16e6

// Sweep is a governor's frequency response, the margins of its loop, and what
// follows for its gain.
type Sweep struct {
	Points []SweepPoint
	Advice loop.Advice
	Share  float64 // of the engine's speed that each line now has

	tries int // of the excitation
}

// SweepPoint is one speed setting under one load.
type SweepPoint struct {
	Name       string // of the load, after that of the setting where there are several
	Setting    machine.SpeedSetting
	Load       measure.Load
	Collective float64 // rad
	// Response is the measured governor, throttle µs over engine rpm, with the
	// rig's own delay taken out.
	Response []response.Point
	Fit      response.Fit
	Margins  loop.Margins
	// Loop is governor times plant, for ω in rad/s.
	Loop response.Measured
	// Plant is from throttle pulse (µs) to engine speed (rpm).
	Plant  loop.Response
	linear heli.Linear
	// Doubt is by how much the scatter of the rig's own loop delay may have
	// moved the phase margin, degrees.
	Doubt float64
	// spread is that scatter, s.
	spread float64
}

// Measure lets the played speed sway by many sines at once, at the light and at
// the heavy end of the machine's load step, and reads the governor's frequency
// response and the stability margins of its loop with the simulated machine.
func (s *Sweep) Measure(ctx context.Context, b *execution.Bench, o *Options) (*execution.Run, error) {
	settings, err := governed.ChooseSeveral(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	points := SweepPoints(b.Machine, settings)
	declared := o.measures(b.Machine, settings)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Options: o, Setting: settings[0], Declared: declared, Body: func(t *execution.Test) error {
		g := governed.New(b.Machine, settings[0])
		if ok, err := g.SpoolUp(t, declared); !ok {
			return err
		}
		for _, p := range points {
			if err := s.at(t, g, p); err != nil {
				return err
			}
		}
		return s.advise(t)
	}})
}

// SweepPoints lists what is to be measured: each setting, light and heavy.
func SweepPoints(m *machine.Machine, settings []machine.SpeedSetting) (points []SweepPoint) {
	for _, setting := range settings {
		prefix := ""
		if len(settings) > 1 {
			prefix = setting.Name + "_"
		}
		points = append(points,
			SweepPoint{Name: prefix + "light", Setting: setting, Load: measure.Light, Collective: float64(m.LoadStep.CollectiveLow)},
			SweepPoint{Name: prefix + "heavy", Setting: setting, Load: measure.Heavy, Collective: float64(m.LoadStep.CollectiveHigh)})
	}
	return points
}

// at measures one point and puts it on the sheet.
func (s *Sweep) at(t *execution.Test, g *governed.Governor, p SweepPoint) error {
	g.Setting = p.Setting
	g.Orders.Select = execution.Seconds(g.Machine.Governor.SelectPulse(g.Engine()))
	err := s.MeasurePoint(t, g, &p)
	var unswept *UnsweptError
	if errors.As(err, &unswept) {
		for _, d := range p.measures() {
			t.Sheet.NotRun(d.Name, unswept.Why)
		}
		return nil
	}
	if err == nil {
		s.Points = append(s.Points, p)
		t.Run.Loops = keptLoops(s.Points)
		p.take(t.Sheet)
	}
	return err
}

// UnsweptError is a point that cannot be measured.
type UnsweptError struct{ Why string }

func (e *UnsweptError) Error() string { return "no frequency response: " + e.Why }

// measure measures one point. A sway that drives the throttle to its ends shows
// less gain than there is; it is made smaller and played again.
func (s *Sweep) MeasurePoint(t *execution.Test, g *governed.Governor, p *SweepPoint) error {
	if s.Share == 0 {
		s.Share = sweepShare
	}
	for ; s.Share >= sweepLeast; s.Share /= 3 {
		s.tries++
		part, sines, err := s.play(t, g, p)
		if err != nil {
			return err
		}
		from, to := part.Span(s.phase(p))
		if atEnds(t.Bench, part.Throttle[from:to]) {
			continue
		}
		if err := p.read(t, part, from, to, sines); err != nil {
			return &UnsweptError{err.Error()}
		}
		return nil
	}
	return &UnsweptError{"the throttle runs to its ends at the slightest sway, so the loop hunts or is next to it"}
}

// phase is the name of a point's swaying phase: each try has its own.
func (s *Sweep) phase(p *SweepPoint) phase.Key {
	return phase.Key{Kind: "sway", Of: p.Name, Number: s.tries}
}

// play lets the speed sway at one point.
func (s *Sweep) play(t *execution.Test, g *governed.Governor, p *SweepPoint) (part execution.Trace, sines response.Multisine, err error) {
	if sines, err = sweepSines(s.Share * g.Engine()); err != nil {
		return part, sines, err
	}
	settle := g.Load(phase.Key{Kind: phase.Settling, Of: p.Name, Number: s.tries}, p.Collective, 1, 6)
	sway := g.Phase(s.phase(p), sweepPeriod*(1+sweepPeriods)+0.1)
	for _, l := range sines.Lines {
		sway.Sway = append(sway.Sway, rig.Sine{
			Amplitude: l.Amplitude, Frequency: float64(l.Harmonic) / float64(execution.Steps(sweepPeriod)),
			Phase: l.Phase/(2*math.Pi) + 0.25, // a cosine
		})
	}
	after := g.Phase(phase.Of(phase.After), 0.2) // the end of the sway is known ahead, too
	before := t.Health
	if part, _, err = t.Play(settle, sway, after); err != nil {
		return part, sines, err
	}
	p.spread = delaySpread(t, before)
	from, _ := part.Span(sway.Key)
	sines.Start = part.Time[from]
	return part, sines, nil
}

// atEnds tells whether a throttle, µs, comes within 1 % of its travel of either
// end.
func atEnds(b *execution.Bench, throttle []float64) bool {
	low := 1e6 * math.Min(float64(b.Machine.Servo.ClosedPulse), float64(b.Machine.Servo.OpenPulse))
	high := 1e6 * math.Max(float64(b.Machine.Servo.ClosedPulse), float64(b.Machine.Servo.OpenPulse))
	margin := 0.01 * (high - low)
	return slices.Min(throttle) < low+margin || slices.Max(throttle) > high-margin
}

func sweepSines(amplitude float64) (response.Multisine, error) {
	lines := response.Harmonics(sweepPeriod, sweepFrom, sweepTo, sweepLines)
	return response.NewMultisine(sweepPeriod, lines, amplitude)
}

// read turns samples from..to into the governor's response and margins.
func (p *SweepPoint) read(t *execution.Test, part execution.Trace, from, to int, sines response.Multisine) error {
	throttle := measure.Series{T: part.Time[from:to], Y: part.Throttle[from:to]}
	all, err := response.Estimate(part.PlayedSpeed(from, to), throttle, sines, 1)
	if err != nil {
		return err
	}
	p.Response = response.Usable(response.WithoutDelay(all, rigDelay))
	if len(p.Response) < 4 {
		return fmt.Errorf("only %d of %d sines stood out of the scatter", len(p.Response), len(all))
	}
	speed := step.MeanSpeed(part.HeadSpeed(from, to))
	plant := heli.New(t.Bench.Machine.HeliParams(), execution.StepTicks/16e6)
	if p.linear, err = plant.Linearise(speed.Value/execution.RPM, p.Collective); err != nil {
		return err
	}
	p.Plant = func(w float64) complex128 { return p.linear.Response(complex(0, w)) * complex(execution.RPM*1e-6, 0) }
	if p.Loop, err = response.WithPlant(p.Response, p.Plant); err != nil {
		return err
	}
	if p.Margins, err = loop.MarginsOf(p.Loop.Loop, p.Loop.Band); err != nil {
		return err
	}
	p.doubt()
	p.Fit, err = response.FitPI(p.Response)
	return err
}

const Textbook = "from the measured governor and the simulated machine; limit: text-book practice, 30° to 60° and 6 dB (from memory)"

// measures declares the measures of one point.
func (p *SweepPoint) measures() []measure.Declaration {
	declared := []measure.Declaration{
		{
			Name: "phase_margin", Unit: "°", Limit: measure.AtLeast(leastPhase), Convention: Textbook,
			Meaning: "How far the loop is from hunting, as an angle; small means slow to calm down.",
		},
		{
			Name: "gain_margin", Unit: "dB", Limit: measure.AtLeast(6), Convention: Textbook,
			Meaning: "By how much the gain could rise before it hunts.",
		},
		{
			Name: "delay_margin", Unit: "ms", Optional: true,
			Meaning: "How much more delay in servo or linkage the loop would bear.",
		},
		{
			Name: "crossover_frequency", Unit: "Hz",
			Meaning: "How quick the loop is: swings slower than this are held down.",
		},
		{
			Name: "sensitivity_peak", Unit: "1", Limit: measure.AtMost(2.5),
			Convention: "greatest |1/(1+L)|; text-book practice below 2 (from memory)",
			Meaning:    "How much the governor makes the worst swing bigger than no governor would.",
		},
		{
			Name: "governor_gain", Unit: "µs/krpm", Convention: "fit of a PI controller with dead time",
			Meaning: "Throttle pulse that the governor gives for 1000 rpm of error, at once.",
		},
		{
			Name: "governor_integral_time", Unit: "s", Optional: true, Convention: "fit of a PI controller with dead time",
			Meaning: "Time in which its integral gives as much again.",
		},
		{
			Name: "governor_delay", Unit: "ms", Convention: "fit of a PI controller with dead time; the rig's own 0.125 ms is taken out",
			Meaning: "Time from a change of speed to the governor's answer.",
		},
		{
			Name: "fit_residual", Unit: "%", Convention: "root mean square of |measured − fit| / |measured|",
			Meaning: "How well those three numbers describe this governor.",
		},
	}
	for i := range declared {
		declared[i].Key = measure.Key{What: declared[i].Name, Setting: p.Setting.Name, Load: p.Load}
		declared[i].Name += "_" + p.Name
	}
	return declared
}

func (p *SweepPoint) take(sheet *measure.Sheet) {
	scaled := func(r measure.Reading, k float64) measure.Reading {
		r.Value *= k
		return r
	}
	sheet.Take("phase_margin_"+p.Name, p.Margins.Phase)
	p.judgeDoubt(sheet)
	gain := p.Margins.Gain
	if gain.OK() {
		gain.Value = loop.Decibels(gain.Value)
	}
	sheet.Take("gain_margin_"+p.Name, gain)
	sheet.Take("delay_margin_"+p.Name, scaled(p.Margins.Delay, 1e3))
	sheet.Take("crossover_frequency_"+p.Name, scaled(p.Margins.Crossover, 1/(2*math.Pi)))
	sheet.Take("sensitivity_peak_"+p.Name, p.Margins.Sensitivity)
	sheet.Set("governor_gain_"+p.Name, p.Fit.Kp*1e3)
	if math.IsInf(p.Fit.Ti, 0) {
		sheet.NotRun("governor_integral_time_"+p.Name, "the governor shows no integral part")
	} else {
		sheet.Set("governor_integral_time_"+p.Name, p.Fit.Ti)
	}
	sheet.Set("governor_delay_"+p.Name, p.Fit.Delay*1e3)
	sheet.Set("fit_residual_"+p.Name, 100*p.Fit.Residual)
}
