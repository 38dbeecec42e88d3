package flight

import (
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/sim/machine"
)

// Side is one of the two answers, under the same measures.
type Side struct {
	// Speed is the head speed, rpm, over the time from the load change, s.
	Speed measure.Series
	// Before is the speed before the change, rpm.
	Before measure.Reading
	// Deviation is the transient deviation from the speed before, % of Declared.
	Deviation measure.Reading
	// Slope is the mean slope of the first part of the deviation, % of Declared
	// a second.
	Slope measure.Reading
	// Extreme is when it was deepest, s after the change, Recovery the recovery time.
	Extreme, Recovery measure.Reading
	// Overswing is how far it goes past where it ends, % of Declared.
	Overswing measure.Reading
}

// slopeFrom and slopeTo are the shares of the deviation between which the first
// slope is read: past the noise, and before the governor has answered (our own).
const slopeFrom, slopeTo = 0.15, 0.55

// Read measures an answer to a load change at a moment of a series of head speeds,
// rpm, at a setting, by whose speed percentages divide.
func Read(s measure.Series, event float64, setting machine.SpeedSetting) Side {
	declared := float64(setting.HeadSpeed) * rpm
	l := step.AnalyseLoad(s, step.LoadConfig{Windows: step.Windows{Event: event, Before: 2}, Declared: declared, Tolerance: band})
	side := Side{
		Speed: measure.Series{T: make([]float64, s.Len()), Y: s.Y}, Before: l.Initial,
		Deviation: l.FromInitial, Extreme: l.ExtremeTime, Recovery: l.RecoveryFromExit, Overswing: l.Overswing,
	}
	for i, t := range s.T {
		side.Speed.T[i] = t - event
	}
	side.Slope = measure.Missing("no deviation to take it from")
	if l.FromInitial.OK() && l.Initial.OK() {
		side.Slope = slope(side.Speed, l.Initial.Value, l.Extreme.Value, declared)
	}
	return side
}

// slope is the mean slope of the deviation between two shares of its greatest.
func slope(s measure.Series, before, extreme, declared float64) measure.Reading {
	depth := extreme - before
	moment := func(share float64) float64 {
		for i := 1; i < s.Len(); i++ {
			a, b := (s.Y[i-1]-before)/depth, (s.Y[i]-before)/depth
			if s.T[i] > -0.3 && a < share && b >= share {
				return s.T[i-1] + (share-a)/(b-a)*(s.T[i]-s.T[i-1])
			}
		}
		return math.NaN()
	}
	from, to := moment(slopeFrom), moment(slopeTo)
	if !(to > from) {
		return measure.Missing("the samples are too far apart to see how fast it begins")
	}
	return measure.Read(100 * (slopeTo - slopeFrom) * depth / declared / (to - from))
}
