package procedure

import (
	"context"
	"fmt"
	"math"

	"govrig/rig"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
)

// The sway that a sweep plays.
const (
	sweepPeriod  = 8.0 // s
	sweepPeriods = 4   // measured, after one for the transient to die
	sweepFrom    = 0.25
	sweepTo      = 8.0
	sweepLines   = 14
	sweepShare   = 0.0025 // of the engine's speed, each line
)

// rigDelay is the time that the rig itself adds between the governor's
// throttle pulse and the simulated servo, s: a pulse waits for the next plant
// step, half a step on the mean. It is taken out of what is measured.
const rigDelay = stepTicks / 2 / 16e6

// SweepOptions are those of Sweep.
type SweepOptions struct {
	Speed string // name of the speed setting; empty is the first
}

// Sweep is a governor's frequency response and the margins of its loop.
type Sweep struct {
	// Points are the measured governor at each load, throttle µs over engine
	// rpm, with the rig's own delay taken out.
	Loads []SweepLoad
}

// SweepLoad is one load of a sweep.
type SweepLoad struct {
	Name       string
	Collective float64 // rad
	Points     []response.Point
	Fit        response.Fit
	Margins    loop.Margins
	// Loop is governor times plant, for ω in rad/s.
	Loop response.Measured
	// Plant and Load are from throttle pulse (µs) and from collective (rad) to
	// engine speed (rpm).
	Plant, Load loop.Response
}

// Measure lets the played speed sway by many sines at once, at the light and at
// the heavy end of the machine's load step, and reads the governor's frequency
// response and the stability margins of its loop with the simulated machine.
func (s *Sweep) Measure(ctx context.Context, b *Bench, o SweepOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	declared := sweepMeasures()
	return b.run(ctx, plan{name: "sweep", options: o, setting: setting, declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, setting)
		if ok, err := g.spoolUp(t, declared); !ok {
			return err
		}
		for _, end := range loadEnds(b) {
			if err := s.load(t, g, end); err != nil {
				return err
			}
		}
		return nil
	}})
}

// loadEnd is one end of the machine's load step.
type loadEnd struct {
	name       string
	collective float64
}

func loadEnds(b *Bench) []loadEnd {
	return []loadEnd{
		{"light", float64(b.Machine.LoadStep.CollectiveLow)},
		{"heavy", float64(b.Machine.LoadStep.CollectiveHigh)},
	}
}

// load measures at one load.
func (s *Sweep) load(t *test, g *governed, end loadEnd) error {
	sines, err := sweepSines(g)
	if err != nil {
		return err
	}
	settle := g.load("settle, "+end.name, end.collective, float64(t.bench.Machine.LoadStep.Ramp), 4)
	sway := g.phase("sway, "+end.name, sweepPeriod*(1+sweepPeriods)+0.1)
	for _, l := range sines.Lines {
		sway.Sway = append(sway.Sway, rig.Sine{
			Amplitude: l.Amplitude, Frequency: float64(l.Harmonic) / float64(steps(sweepPeriod)),
			Phase: l.Phase/(2*math.Pi) + 0.25, // a cosine
		})
	}
	after := g.phase("after", 0.2) // the end of the sway is known ahead, too
	part, _, err := t.play(settle, sway, after)
	if err != nil {
		return err
	}
	from, to := part.phase("sway, " + end.name)
	sines.Start = part.Time[from]
	found, err := readSweep(t, part, from, to, sines, end)
	if err != nil {
		why := err.Error()
		for _, d := range sweepMeasuresAt(end.name) {
			t.sheet.NotRun(d.Name, why)
		}
		return nil
	}
	s.Loads = append(s.Loads, found)
	found.take(t.sheet)
	return nil
}

func sweepSines(g *governed) (response.Multisine, error) {
	lines := response.Harmonics(sweepPeriod, sweepFrom, sweepTo, sweepLines)
	return response.NewMultisine(sweepPeriod, lines, sweepShare*g.engine())
}

// readSweep turns samples from..to into the governor's response and margins.
func readSweep(t *test, part Trace, from, to int, sines response.Multisine, end loadEnd) (SweepLoad, error) {
	found := SweepLoad{Name: end.name, Collective: end.collective}
	throttle := measure.Series{T: part.Time[from:to], Y: part.Throttle[from:to]}
	points, err := response.Estimate(part.played(from, to), throttle, sines, 1)
	if err != nil {
		return found, err
	}
	found.Points = response.Usable(response.WithoutDelay(points, rigDelay))
	if len(found.Points) < 4 {
		return found, fmt.Errorf("only %d of %d sines stood out of the scatter", len(found.Points), len(points))
	}
	speed := step.MeanSpeed(part.head(from, to))
	machine := heli.New(t.bench.Machine.HeliParams(), stepTicks/16e6)
	linear, err := machine.Linearise(speed.Value/rpm, end.collective)
	if err != nil {
		return found, err
	}
	found.Plant = func(w float64) complex128 { return linear.Response(complex(0, w)) * complex(rpm*1e-6, 0) }
	found.Load = func(w float64) complex128 { return linear.LoadResponse(complex(0, w)) * complex(rpm, 0) }
	if found.Loop, err = response.WithPlant(found.Points, found.Plant); err != nil {
		return found, err
	}
	if found.Margins, err = loop.MarginsOf(found.Loop.Loop, found.Loop.Band); err != nil {
		return found, err
	}
	found.Fit, err = response.FitPI(found.Points)
	return found, err
}

// sweepMeasures declares the measures of both loads.
func sweepMeasures() (all []measure.Declaration) {
	for _, name := range []string{"light", "heavy"} {
		all = append(all, sweepMeasuresAt(name)...)
	}
	return all
}

const textbook = "from the measured governor and the simulated machine; limit: text-book practice, 30° to 60° and 6 dB (from memory)"

func sweepMeasuresAt(load string) []measure.Declaration {
	return []measure.Declaration{
		{
			Name: "phase_margin_" + load, Unit: "°", Limit: measure.AtLeast(30), Convention: textbook,
			Meaning: "How far the loop is from hunting, as an angle, under " + load + " load; small means slow to calm down.",
		},
		{
			Name: "gain_margin_" + load, Unit: "dB", Limit: measure.AtLeast(6), Convention: textbook,
			Meaning: "By how much the gain could rise before it hunts.",
		},
		{
			Name: "delay_margin_" + load, Unit: "ms", Optional: true,
			Meaning: "How much more delay in servo or linkage the loop would bear.",
		},
		{
			Name: "crossover_frequency_" + load, Unit: "Hz",
			Meaning: "How quick the loop is: swings slower than this are held down.",
		},
		{
			Name: "sensitivity_peak_" + load, Unit: "1", Limit: measure.AtMost(2.5),
			Convention: "greatest |1/(1+L)|; text-book practice below 2 (from memory)",
			Meaning:    "How much the governor makes the worst swing bigger than no governor would.",
		},
		{
			Name: "governor_gain_" + load, Unit: "µs/krpm", Convention: "fit of a PI controller with dead time",
			Meaning: "Throttle pulse that the governor gives for 1000 rpm of error, at once.",
		},
		{
			Name: "governor_integral_time_" + load, Unit: "s", Convention: "fit of a PI controller with dead time",
			Meaning: "Time in which its integral gives as much again.",
		},
		{
			Name: "governor_delay_" + load, Unit: "ms", Convention: "fit of a PI controller with dead time; the rig's own 0.125 ms is taken out",
			Meaning: "Time from a change of speed to the governor's answer.",
		},
		{
			Name: "fit_residual_" + load, Unit: "%", Convention: "root mean square of |measured − fit| / |measured|",
			Meaning: "How well those three numbers describe this governor.",
		},
	}
}

func (l *SweepLoad) take(sheet *measure.Sheet) {
	scaled := func(r measure.Reading, k float64) measure.Reading {
		r.Value *= k
		return r
	}
	sheet.Take("phase_margin_"+l.Name, l.Margins.Phase)
	gain := l.Margins.Gain
	if gain.OK() {
		gain.Value = loop.Decibels(gain.Value)
	}
	sheet.Take("gain_margin_"+l.Name, gain)
	sheet.Take("delay_margin_"+l.Name, scaled(l.Margins.Delay, 1e3))
	sheet.Take("crossover_frequency_"+l.Name, scaled(l.Margins.Crossover, 1/(2*math.Pi)))
	sheet.Take("sensitivity_peak_"+l.Name, l.Margins.Sensitivity)
	sheet.Set("governor_gain_"+l.Name, l.Fit.Kp*1e3)
	sheet.Set("governor_integral_time_"+l.Name, l.Fit.Ti)
	sheet.Set("governor_delay_"+l.Name, l.Fit.Delay*1e3)
	sheet.Set("fit_residual_"+l.Name, 100*l.Fit.Residual)
}
