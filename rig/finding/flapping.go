package finding

import (
	"math"

	"govrig/rig/measure"
)

const (
	// flapBack is how far a throttle has to turn back, a share of its travel, for
	// that to count.
	flapBack = 0.05
	// flapWindow is the stretch that is looked at at a time, s.
	flapWindow = 2.0
	// flapOften is how often a second it turns back when it flaps, and flapFar how
	// many times its whole travel it goes then, three times to and fro. An engine
	// that has not taken up its rotor is so quick that every governor makes small
	// strokes (our own).
	flapOften, flapFar = 3.0, 6.0
)

// Flapping is how a throttle goes to and fro, in the two seconds in which it goes
// farthest.
type Flapping struct {
	// Reversals is how often a second it turns back by more than a twentieth of
	// its travel; Travel is how many times its whole travel it goes in a second.
	Reversals, Travel float64
}

// Flaps reports whether a throttle, a share of its travel over s, goes to and fro
// while it has only to open. ok is false where the series is too short to tell.
func Flaps(throttle measure.Series) (worst Flapping, is, ok bool) {
	if throttle.Len() < 2 || throttle.Span() < flapWindow {
		return worst, false, false
	}
	turns := reversals(throttle)
	first, gone := 0, 0
	travel := make([]float64, throttle.Len())
	for i := 1; i < throttle.Len(); i++ {
		travel[i] = travel[i-1] + math.Abs(throttle.Y[i]-throttle.Y[i-1])
	}
	for i, t := range throttle.T {
		for throttle.T[first] < t-flapWindow {
			first++
		}
		for gone < len(turns) && turns[gone] < throttle.T[first] {
			gone++
		}
		n := 0
		for _, at := range turns[gone:] {
			if at <= t {
				n++
			}
		}
		if far := (travel[i] - travel[first]) / flapWindow; far > worst.Travel {
			worst = Flapping{float64(n) / flapWindow, far}
		}
	}
	return worst, worst.Reversals >= flapOften && worst.Travel >= flapFar, true
}

// reversals are the moments at which the throttle has turned back.
func reversals(s measure.Series) (at []float64) {
	peak, way := s.Y[0], 0.0
	for i, y := range s.Y {
		switch {
		case way == 0 && math.Abs(y-peak) > flapBack:
			peak, way = y, math.Copysign(1, y-peak)
		case way != 0 && (y-peak)*way > 0:
			peak = y
		case way != 0 && (peak-y)*way > flapBack:
			at, peak, way = append(at, s.T[i]), y, -way
		}
	}
	return at
}
