package loop

import "math"

// Uncertain tells how far the uncertainty of a measured loop, one standard
// deviation at each frequency, moves its phase margin, degrees, and its gain
// margin, dB: gain and phase each for itself, by the greater of either way, added
// by their squares. Each is 0 where there is no such margin, and infinite where
// it would be lost from the band.
func Uncertain(l Response, b Band, u func(omega float64) Spread) (phase, gain float64, err error) {
	c, err := sample(l, b)
	if err != nil {
		return 0, 0, err
	}
	now := c.crossings()
	for _, part := range []func(s Spread) Spread{
		func(s Spread) Spread { return Spread{Gain: s.Gain} },
		func(s Spread) Spread { return Spread{Phase: s.Phase} },
	} {
		one := func(w float64) Spread { return part(u(w)) }
		var mostPhase, mostGain float64
		for _, way := range []float64{-1, 1} {
			m := c.turned(one, way).crossings()
			if now.Phase.OK() {
				mostPhase = math.Max(mostPhase, apart(now.Phase.Value, m.Phase.Value, m.Phase.OK()))
			}
			if now.Gain.OK() {
				mostGain = math.Max(mostGain, apart(Decibels(now.Gain.Value), Decibels(m.Gain.Value), m.Gain.OK()))
			}
		}
		phase, gain = math.Hypot(phase, mostPhase), math.Hypot(gain, mostGain)
	}
	return phase, gain, nil
}

func apart(a, b float64, known bool) float64 {
	if !known {
		return math.Inf(1)
	}
	return math.Abs(a - b)
}
