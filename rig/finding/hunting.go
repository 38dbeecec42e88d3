package finding

import (
	"fmt"

	"govrig/rig/measure/hunting"
	"govrig/rig/measure/loop"
)

// HuntingCause is a cause of hunting in words, and what to do about it. said is
// false for one that is not likely: it is not to be named.
func HuntingCause(c hunting.Cause) (found, next string, said bool) {
	if c.Verdict != hunting.Likely || c.Source == hunting.Late && delay(c) < longDelay {
		return "", "", false
	}
	switch c.Source {
	case hunting.Margin:
		if c.Phase.OK() && c.Gain.OK() && loop.Decibels(c.Gain.Value) >= enoughGain {
			return fmt.Sprintf("a likely cause is the integral: measured by itself, the governor leaves its loop with this machine %s; it would swing about %.2g times a second, and less gain alone does not help.", margins(c), c.Frequency.Value),
				"Turn the governor's integral down (a longer integral time), if it has such a setting; tune tells what its gain does.", true
		}
		return fmt.Sprintf("a likely cause is the gain: measured by itself, the governor leaves its loop with this machine %s, and it would swing about %.2g times a second.", margins(c), c.Frequency.Value),
			"Turn the governor's gain down and run this again; tune tells by how much.", true
	case hunting.Late:
		return fmt.Sprintf("a likely cause is delay: the governor answers after %.0f ms, which turns the phase by %.0f° where the loop crosses 1; without it there would be margin enough.", 1e3*delay(c), c.Turned.Value),
			"Set the governor to faster servo frames, if it has them and the servo's maker allows them; else turn its gain down.", true
	case hunting.Play:
		return fmt.Sprintf("a likely cause is play: what the machine file has for throttle_servo.backlash makes such a loop swing %.2g times a second, by ±%.0f rpm.", c.Frequency.Value, c.Amplitude.Value),
			"Take the play out of the throttle's servo, horns and rods, and run this again.", true
	case hunting.Resolution:
		return fmt.Sprintf("a likely cause is the governor's output: the throttle goes to and fro by %.0f of its own steps, which makes ±%.0f rpm.", c.Steps.Value, c.Amplitude.Value),
			"Let the governor's whole output open the throttle (see throttle), so that a step of it moves the throttle least.", true
	case hunting.WindUp:
		return fmt.Sprintf("a likely cause is wind-up: the throttle stands at its ends for %.0f %% of the time, although the loop has margin enough (%s).", 100*c.AtEnds.Value, margins(c)),
			"Keep the throttle off its ends: less load, or a lower speed setting; ask the governor's maker for a newer version.", true
	case hunting.Dropouts:
		return fmt.Sprintf("a likely cause is the pickup: pulses are lost, %.0f times, in step with the swing.", c.Lost.Value),
			"Run pickup, and see to its gap and cable.", true
	case hunting.Roughness:
		return fmt.Sprintf("the speed is uneven, but does not hunt: of what swings the throttle makes no more than %.0f %%. That is the engine's own roughness.", 100*c.Share.Value),
			"Look at the engine, not at the governor: mixture, plug and mounting, or engine.cycle_variation in the machine file.", true
	}
	return "", "", false
}

// enoughGain is a gain margin, dB, at which it is not the gain that is too high.
const enoughGain = 6.0

// longDelay is a delay, s, beyond what servo frames of 50 Hz make a governor late by,
// one and a half of them and something for its reckoning (our own).
const longDelay = 0.04

// delay is what turns the phase as it does, s.
func delay(c hunting.Cause) float64 { return c.Turned.Value / 360 / c.Frequency.Value }

// margins are those that a cause rests on.
func margins(c hunting.Cause) string {
	switch {
	case c.Phase.OK() && c.Gain.OK():
		return fmt.Sprintf("%.0f° and %.1f dB of margin", c.Phase.Value, loop.Decibels(c.Gain.Value))
	case c.Phase.OK():
		return fmt.Sprintf("%.0f° of margin", c.Phase.Value)
	}
	return fmt.Sprintf("%.1f dB of margin", loop.Decibels(c.Gain.Value))
}
