package hold

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
)

const (
	// stretch is how much of a steady phase is kept at a time at most, s: six cycles
	// of the slowest swing that is looked for.
	stretch = 60.0
	// lookEvery is how many samples lie between two looks.
	lookEvery = 50
)

// steady is what was seen under one load.
type steady struct {
	speed, head step.Stretches
	swing       governed.Swing  // the one that says most
	newest      execution.Trace // of its stretches
	from, to    float64         // s
}

// steady holds the load that stands for the wanted time. A long time is read and
// forgotten stretch by stretch.
func (h *holding) steady(kind phase.Kind) (seen steady, err error) {
	stretches := int(math.Ceil(h.time / stretch))
	for n := range stretches {
		if n > 0 {
			h.t.Run.Trace.Forget()
		}
		part, err := h.stretch(kind, h.time/float64(stretches))
		if err != nil {
			return seen, err
		}
		last := len(part.Time) - 1
		if n == 0 {
			seen.from = part.Time[0]
		}
		h.saw(part)
		seen.newest, seen.to = part, part.Time[last]
		seen.speed.Add(part.EngineSpeed(0, last+1))
		seen.head.Add(part.HeadSpeed(0, last+1))
		swing := h.g.HuntsIn(stretches, &part, 0, last+1, h.g.Orders.Collective)
		if n == 0 {
			seen.swing = swing
		}
		seen.swing = worse(seen.swing, swing)
	}
	return seen, nil
}

// stretch plays a phase for a time, s, and goes on for twice as long, and again,
// while the speed wanders or whether it hunts cannot be told: a slow swing needs whole
// cycles. Each look may be a false alarm, so there are few.
func (h *holding) stretch(kind phase.Kind, time float64) (execution.Trace, error) {
	p := h.g.Phase(h.g.Key(kind), max(time, longest))
	next := time
	part, err := h.t.PlayUntil(p, func(part execution.Trace) bool {
		n := len(part.Time)
		if n%lookEvery != 0 || part.Time[n-1]-part.Time[0] < next {
			return false
		}
		next *= 2
		s := part.EngineSpeed(0, n)
		return !wanders(s, still*h.g.Declared()) && hunting.Detect(s, hunting.Config{}).Kind != hunting.Unknown
	})
	part.Calibrate(h.t.Session)
	return part, err
}
