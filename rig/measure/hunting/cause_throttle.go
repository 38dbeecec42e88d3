package hunting

import (
	"math"
	"math/cmplx"

	"govrig/rig/measure"
	"govrig/rig/measure/describing"
	"govrig/rig/measure/response"
)

// lostPulses asks whether losses come at the same phase of each swing. The
// chance that n losses at random agree by a mean phasor R is e^{−nR²}
// (Rayleigh's test of circular data, from memory).
func lostPulses(f Finding, k Known) Cause {
	if !k.Watched {
		return untold(Dropouts)
	}
	var sum complex128
	n := 0.0
	for _, t := range k.Lost {
		if t >= f.From && t <= f.To {
			sum += cmplx.Rect(1, 2*math.Pi*f.Frequency*t)
			n++
		}
	}
	e := Evidence{Lost: measure.Read(n).With("in the window")}
	if n < 3 {
		return weighed(Dropouts, 0, e)
	}
	r := cmplx.Abs(sum) / n
	e.InStep = measure.Read(r)
	return weighed(Dropouts, 1-math.Exp(-n*r*r), e)
}

// coarse asks whether the throttle only steps to and fro between two or three
// of its values, and whether its fundamental makes the swing that was seen.
func coarse(f Finding, k Known, s swing) Cause {
	if k.Quantum <= 0 || !s.ok {
		return untold(Resolution)
	}
	e := Evidence{Steps: measure.Read(s.reach / k.Quantum).With("peak to peak")}
	if e.Steps.Value > 2.5 || s.reach == 0 {
		return weighed(Resolution, 0, e)
	}
	if k.Plant == nil {
		return untold(Resolution)
	}
	want := s.amplitude * cmplx.Abs(k.Plant(2*math.Pi*f.Frequency))
	e.Amplitude = measure.Read(want)
	return weighed(Resolution, likeness(f.Amplitude, want, 0.5), e)
}

// play compares what was seen with the cycle that a describing function
// predicts for the known gap. Without a gap, two amplitudes of which the larger
// passes more show that there is a dead band, but not that it makes the swing.
func play(f Finding, k Known, s swing) Cause {
	var e Evidence
	if c := k.Amplitudes; c != nil && c.Kind == response.DeadBand {
		e.Change = measure.Read(c.Change)
	}
	if k.Gap <= 0 || k.Loop == nil || k.Plant == nil {
		c := untold(Play)
		c.Evidence = e.missing()
		return c
	}
	n := describing.Backlash(k.Gap)
	weight := 0.0
	for _, c := range describing.Cycles(describing.Loop(k.Loop), n, describing.Range{
		OmegaMin: k.Band.Min, OmegaMax: k.Band.Max, AmplitudeMin: 0.501 * k.Gap, AmplitudeMax: 200 * k.Gap,
	}) {
		hz := c.Omega / (2 * math.Pi)
		speed := cmplx.Abs(n(c.Amplitude)*k.Plant(c.Omega)) * c.Amplitude
		w := likeness(f.Frequency, hz, 0.25) * likeness(f.Amplitude, speed, 0.5)
		if s.amplitude > 0 {
			w *= likeness(s.amplitude, c.Amplitude, 0.5)
		}
		if c.Stable && w > weight {
			weight, e.Frequency, e.Amplitude = w, measure.Read(hz), measure.Read(speed)
		}
	}
	return weighed(Play, weight, e)
}

// rough asks whether the throttle makes less than half of what an unsteady
// speed swings by: then the engine does. A throttle that goes far to and fro may well
// do more than the plant says, which is for small changes: it lets the clutch slip.
func rough(f Finding, k Known, s swing) Cause {
	if !s.ok || k.Plant == nil || f.Amplitude == 0 || k.High != k.Low && s.reach > farStroke*math.Abs(k.High-k.Low) {
		return untold(Roughness)
	}
	share := s.amplitude * cmplx.Abs(k.Plant(2*math.Pi*f.Frequency)) / f.Amplitude
	return weighed(Roughness, math.Max(0, 1-share), Evidence{Share: measure.Read(share).With("of the swing")})
}
