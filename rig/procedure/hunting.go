package procedure

import (
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/loop"
	"govrig/sim/heli"
)

// huntingCauses names the likely causes of hunting that was found in samples
// from..to of part, under a collective, rad, by what the rig knows of the
// machine. governor is the governor's transfer function as a sweep found it,
// throttle µs over engine rpm, or nil.
func huntingCauses(b *Bench, f hunting.Finding, part *Trace, from, to int, collective float64, governor loop.Response) []hunting.Cause {
	m := b.Machine
	e := hunting.Evidence{
		Throttle: measure.Series{T: part.Time[from:to], Y: part.Throttle[from:to]},
		Gap:      playWidth(b),
		Quantum:  outputStep(part),
	}
	mean := 0.0
	for _, head := range part.Head[from:to] {
		mean += head / float64(to-from)
	}
	if linear, err := heli.New(m.HeliParams(), stepTicks/16e6).Linearise(mean/rpm, collective); err == nil {
		e.Plant = func(w float64) complex128 { return linear.Response(complex(0, w)) * complex(rpm*1e-6, 0) }
		if governor != nil {
			e.Loop, e.Band = governor.Times(e.Plant), adviceBand
		}
	}
	return hunting.Causes(f, e)
}

// playWidth is the play of servo and linkage as a pulse width, µs.
func playWidth(b *Bench) float64 {
	s := b.Machine.Servo
	return 1e6 * float64(s.Backlash) / float64(s.Travel) * math.Abs(float64(s.OpenPulse-s.ClosedPulse))
}

// outputStep is the step of the throttle pulses' width, µs: the smallest
// distance between two of the widths seen that is more than the board's own
// resolution can make. 0 is not seen.
func outputStep(part *Trace) float64 {
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
