package sweep

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
)

const Textbook = "from the measured governor and the simulated machine; limit: text-book practice, 30° to 60° and 6 dB (from memory)"

// measures declares the measures of one point.
func (p *SweepPoint) measures() []measure.Declaration {
	declared := []measure.Declaration{
		{
			Name: "phase_margin", Unit: "°", Limit: measure.AtLeast(leastPhase), Convention: Textbook,
			Meaning: "How far the loop is from hunting, as an angle; small means slow to calm down.",
		},
		{
			Name: "gain_margin", Unit: "dB", Limit: measure.AtLeast(leastGain), Convention: Textbook,
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
			Name: "governor_gain", Unit: "µs/krpm", Optional: true, Convention: "fit of a PI controller with dead time",
			Meaning: "Throttle pulse that the governor gives for 1000 rpm of error, at once.",
		},
		{
			Name: "governor_integral_time", Unit: "s", Optional: true, Convention: "fit of a PI controller with dead time",
			Meaning: "Time in which its integral gives as much again.",
		},
		{
			Name: "governor_delay", Unit: "ms", Optional: true, Convention: "fit of a PI controller with dead time; a pulse counts from its end",
			Meaning: "Time from a change of speed to the governor's answer.",
		},
		{
			Name: "fit_residual", Unit: "%", Optional: true, Convention: "root mean square of |measured − fit| / |measured|",
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
	if why := p.WhyNoMargins(); why != "" {
		for _, d := range p.measures() {
			sheet.NotRun(d.Name, why)
		}
		return
	}
	scaled := func(r measure.Reading, k float64) measure.Reading {
		r.Value *= k
		return r
	}
	sheet.Take("phase_margin_"+p.Name, p.phaseMargin())
	p.judgeDoubt(sheet)
	sheet.Take("gain_margin_"+p.Name, p.gainMargin())
	sheet.Take("delay_margin_"+p.Name, scaled(p.Margins.Delay, 1e3))
	sheet.Take("crossover_frequency_"+p.Name, scaled(p.Margins.Crossover, 1/(2*math.Pi)))
	sheet.Take("sensitivity_peak_"+p.Name, p.Margins.Sensitivity)
	p.takeFit(sheet)
}

// WhyNoMargins is why a point has no margins, whatever was measured; empty is that it
// has.
func (p *SweepPoint) WhyNoMargins() string {
	switch {
	case p.DeadBand > 0:
		return fmt.Sprintf("the governor has a dead band of about ±%.1f %%, so its margins are others for each width of a swing; make it smaller, and sweep again", 100*p.DeadBand)
	case p.Amplitudes.Kind == response.Untold:
		return "whether the response is the same at another amplitude cannot be told, so that no margin holds for sure; see what hold says of this setting, and sweep again"
	}
	return ""
}

// sure tells how sure a margin is.
func sure(r measure.Reading, doubt float64) measure.Reading {
	if !r.OK() {
		return r
	}
	if math.IsInf(doubt, 0) {
		return r.Warn("how sure it is cannot be told: it lies at the edge of what was measured")
	}
	r.Uncertainty = doubt
	return r
}

// phaseMargin is the phase margin, degrees.
func (p *SweepPoint) phaseMargin() measure.Reading { return sure(p.Margins.Phase, p.phaseDoubt) }

// leastGain is the least gain margin, dB, that sweep asks for.
const leastGain = 6.0

// gainMargin is the gain margin, dB. Where the phase does not come to −180° within
// the lines it is a bound; one that keeps the limit is a margin as good as that,
// one that does not tells nothing.
func (p *SweepPoint) gainMargin() measure.Reading {
	gain := p.Margins.Gain
	if gain.OK() {
		gain.Value = loop.Decibels(gain.Value)
		return sure(gain, p.gainDoubt)
	}
	bound, ok := p.gainBound()
	top := p.Loop.Band.Max / (2 * math.Pi)
	switch {
	case !ok:
		return measure.Missing("%s; turn the gain down and sweep again", p.Margins.GainAtLeast.Why)
	case bound < leastGain:
		return measure.Missing("the phase does not come to -180° up to %.2g Hz, and up to there only %.1f dB are sure; turn the gain down and sweep again", top, bound)
	}
	least := measure.Read(bound).With("at least: up to %.2g Hz the phase does not come to -180°, and beyond nothing was measured", top)
	least.AtLeast = true
	return least
}

// gainBound is the gain margin, dB, at the least, as far as the lines tell.
func (p *SweepPoint) gainBound() (db float64, ok bool) {
	least := p.Margins.GainAtLeast
	return loop.Decibels(least.Value), least.OK()
}

// takeFit takes what the fit tells, where it is good.
func (p *SweepPoint) takeFit(sheet *measure.Sheet) {
	if p.Fit.Residual > 0 {
		sheet.Set("fit_residual_"+p.Name, 100*p.Fit.Residual)
	} else {
		sheet.NotRun("fit_residual_"+p.Name, p.Unfit)
	}
	if p.Unfit != "" {
		for _, name := range []string{"governor_gain_", "governor_integral_time_", "governor_delay_"} {
			sheet.NotRun(name+p.Name, p.Unfit)
		}
		return
	}
	sheet.Set("governor_gain_"+p.Name, p.Fit.Kp*1e3)
	sheet.Take("governor_integral_time_"+p.Name, p.integral())
	sheet.Set("governor_delay_"+p.Name, p.Fit.Delay*1e3)
}

// integral is the integral time, s, where the lines tell it.
func (p *SweepPoint) integral() measure.Reading {
	lowest := p.Loop.Band.Min / (2 * math.Pi)
	switch {
	case math.IsInf(p.Fit.Ti, 0):
		return measure.Missing("no integral part shows down to %.2g Hz", lowest)
	case p.Fit.TiError > knownTi*p.Fit.Ti:
		least := 1 / (1/p.Fit.Ti + 2*p.Fit.TiError/(p.Fit.Ti*p.Fit.Ti)) // two standard errors
		return measure.Missing("lines down to %.2g Hz show no integral time shorter than %.2g s", lowest, least)
	}
	return measure.Read(p.Fit.Ti)
}
