package governed

import (
	"fmt"
	"math"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/loop"
	"govrig/sim/heli"
)

// HuntingCauses names the likely causes of hunting that was found in samples
// from..to of part, under a collective, rad, by what the rig knows of the
// machine. governor is the governor's transfer function as a sweep found it,
// throttle µs over engine rpm, or nil.
func HuntingCauses(b *execution.Bench, f hunting.Finding, part *execution.Trace, from, to int, collective float64, governor loop.Response) []hunting.Cause {
	m := b.Machine
	e := hunting.Known{
		Throttle: measure.Series{T: part.Time[from:to], Y: part.Throttle[from:to]},
		Low:      1e6 * float64(m.Servo.ClosedPulse), High: 1e6 * float64(m.Servo.OpenPulse),
		Gap:     playWidth(b),
		Quantum: OutputStep(part),
	}
	mean := 0.0
	for _, head := range part.Head[from:to] {
		mean += head / float64(to-from)
	}
	if linear, err := heli.New(m.HeliParams(), execution.StepTicks/16e6).Linearise(mean/execution.RPM, collective); err == nil {
		e.Plant = func(w float64) complex128 { return linear.Response(complex(0, w)) * complex(execution.RPM*1e-6, 0) }
		if governor != nil {
			e.Loop, e.Band = governor.Times(e.Plant), AdviceBand
		}
	}
	var likely []hunting.Cause
	for _, c := range hunting.Causes(f, e) {
		if c.Verdict == hunting.Likely {
			likely = append(likely, c)
		}
	}
	return likely
}

// causeWords are the numbers that a cause rests on.
func causeWords(c hunting.Cause) string {
	var words []string
	for _, n := range []struct {
		value  measure.Reading
		format string
		scale  float64
	}{
		{c.Phase, "phase margin %.3g°", 1}, {c.Frequency, "a swing of %.3g Hz to be expected of it", 1},
		{c.Amplitude, "by %.3g rpm", 1}, {c.Turned, "the delay turns the phase by %.3g°", 1},
		{c.Steps, "the throttle moves to and fro by %.0f of its own steps", 1},
		{c.AtEnds, "the throttle stands at its ends for %.0f %% of the time", 100},
	} {
		if n.value.OK() {
			words = append(words, fmt.Sprintf(n.format, n.scale*n.value.Value))
		}
	}
	return strings.Join(words, ", ")
}

// playWidth is the play of servo and linkage as a pulse width, µs.
func playWidth(b *execution.Bench) float64 {
	s := b.Machine.Servo
	return 1e6 * float64(s.Backlash) / float64(s.Travel) * math.Abs(float64(s.OpenPulse-s.ClosedPulse))
}

// OutputStep is the step of the throttle pulses' width, µs: the smallest
// distance between two of the widths seen that is more than the board's own
// resolution can make. 0 is not seen.
func OutputStep(part *execution.Trace) float64 {
	widths := map[int]bool{} // in ticks
	for _, p := range part.Pulses {
		widths[int(math.Round(p.Width*16e6))] = true
	}
	least := math.Inf(1)
	for w := range widths {
		for d := 3; d < 1000; d++ {
			if widths[w+d] {
				least = math.Min(least, float64(d)/16)
				break
			}
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// Swing is what was found about hunting, and where.
type Swing struct {
	hunting.Finding
	part       *execution.Trace
	From, To   int
	collective float64 // rad
}

// Hunts looks for hunting in samples from..to.
func (g *Governor) Hunts(part *execution.Trace, from, to int, collective float64) Swing {
	return Swing{hunting.Detect(part.EngineSpeed(from, to), hunting.Config{}), part, from, to, collective}
}

func (g *Governor) ReadHunting(t *execution.Test, s Swing) {
	wide := measure.Read(0).With("%s", s.Why)
	frequency, amplitude := measure.Missing("it does not hunt"), measure.Missing("it does not hunt")
	switch {
	case s.Kind == hunting.Unknown:
		wide = measure.Missing("%s", s.Why)
		frequency, amplitude = wide, wide
	case s.Hunting():
		wide.Value = 100 * s.Swing / g.Declared()
		frequency, amplitude = measure.Read(s.Frequency), measure.Read(s.Swing/2)
	}
	g.Take(t, "hunting_swing", wide)
	g.Take(t, "hunting_frequency", frequency)
	g.Take(t, "hunting_amplitude", amplitude)
}

// TellHunting says that it hunts, and likely causes.
func (g *Governor) TellHunting(t *execution.Test, s Swing) {
	under := "light"
	if s.collective > float64(g.Machine.LoadStep.CollectiveLow) {
		under = "heavy"
	}
	t.Found("%s: the governor hunts under %s load: the engine swings by ±%.0f rpm, %.1f times a second.",
		g.Setting.Name, under, s.Swing/2, s.Frequency)
	for _, c := range HuntingCauses(t.Bench, s.Finding, s.part, s.From, s.To, s.collective, nil) {
		t.Found("A likely cause: %s (%s).", c.Source, causeWords(c))
	}
	t.Next("Turn the governor's gain down and run this again; sweep and tune tell by how much.")
}

// AdviceBand is where a loop is looked at, rad/s.
var AdviceBand = loop.Band{Min: 0.02, Max: 300}
