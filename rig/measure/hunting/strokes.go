package hunting

import (
	"fmt"
	"math"

	"govrig/rig/measure"
)

const (
	// farStroke is how far a throttle has to go and come back, a share of its travel:
	// no healthy governor does that at an engine that has come up to speed.
	farStroke = 0.35
	// fewestStrokes is how often it has to do so: twice as often as a steady swing
	// needs, for nothing else shows that this one lasts.
	fewestStrokes = 2 * fewestCycles
	// longestPause between two strokes, in strokes of middling length.
	longestPause = 3.0
)

// Strokes finds hunting that is too uneven for Detect. A governor whose gain is far too
// high throws its throttle, a share of the travel, to and fro; the speed goes after it,
// but each time by another way, as clutch, servo and the throttle's ends have it. The
// strokes have to come one upon the other all through the window, and the speed has to
// swing by more than large: those of a governor that answers a rough engine come and go
// as noise does, and a throttle that flaps without the speed following does not hunt.
// The frequency is that of the strokes, the swing the median of what the speed does from
// one to the next.
func Strokes(speed, throttle measure.Series) Finding {
	opened := strokes(throttle)
	n := len(opened)
	if n < fewestStrokes {
		return Finding{Kind: Quiet, Why: "the throttle does not go far to and fro"}
	}
	var swings, times []float64
	for i := range n - 1 {
		low, high := speed.Between(opened[i], opened[i+1]).Extent()
		swings, times = append(swings, high-low), append(times, opened[i+1]-opened[i])
	}
	end := throttle.T[throttle.Len()-1]
	times = append(times, opened[0]-throttle.T[0], end-opened[n-1])
	typical := median(times)
	for _, time := range times {
		if time > longestPause*typical {
			return Finding{Kind: Unknown, Why: fmt.Sprintf("the throttle goes far to and fro, but pauses for %.2g s", time)}
		}
	}
	f := Finding{
		Kind: Sustained, From: throttle.T[0], To: end, Swing: median(swings),
		Frequency: float64(n-1) / (opened[n-1] - opened[0]),
	}
	f.Amplitude = f.Swing / 2
	if f.Swing < large*math.Abs(speed.Mean()) {
		return Finding{Kind: Unknown, Why: "the throttle goes far to and fro, but the speed does not go with it"}
	}
	f.Why = fmt.Sprintf("the throttle goes far to and fro, %d times, and the speed after it", n)
	return f
}

// strokes are the moments at which a throttle has opened again by farStroke after it
// had closed by as much.
func strokes(throttle measure.Series) (opened []float64) {
	if throttle.Len() == 0 {
		return nil
	}
	low, high, closing := throttle.Y[0], throttle.Y[0], false
	for i, share := range throttle.Y {
		low, high = math.Min(low, share), math.Max(high, share)
		switch {
		case !closing && high-share > farStroke:
			closing, low = true, share
		case closing && share-low > farStroke:
			opened, closing, high = append(opened, throttle.T[i]), false, share
		}
	}
	return opened
}
