package throttle

import (
	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure/pulse"
)

// throttleTest is what Throttle found so far.
type throttleTest struct {
	*openloop.Stand
	rest       []execution.Pulse // with a low stick and no pulses
	frames     pulse.Frames
	silent     course // without pulses
	idling     course // with pulses
	follows    bool   // in either
	line       pulse.Line
	strays     float64   // at most from the line, share
	up         float64   // stick at which the governor engaged, share
	turn       float64   // speed at which it did, rad/s; 0 when it did not
	took       float64   // time that it took, s
	opened     float64   // where the throttle then went, share
	openTime   float64   // s
	highest    float64   // share that it opened to near the stick's end, where it was tried there
	governing  []float64 // widths while it governed, s
	arm        float64   // share of stick
	release    float64
	thresholds string // why there are none
	follow     []float64
}

// Sticks at which the throttle is looked at.
var sticks = func() (all []float64) {
	for at := -5.0; at <= 105; at += 2.5 {
		all = append(all, at/100)
	}
	return all
}()

// lowSticks is how many of them are at or below governedStick.
const lowSticks = 27

// restTime is how long the frames are looked at, the stick low, s.
const restTime = 4.0

// play goes through the phases and reads each as soon as it can. Without
// throttle pulses it ends at once.
func (l *throttleTest) play() error {
	l.Kind = "stick low, no pulses"
	part, _, err := l.T.Play(l.Phase(0, 0, restTime))
	if err != nil {
		return err
	}
	l.rest = part.Pulses
	rate := pulse.FramesOf(openloop.Starts(l.rest)).Rate
	if !rate.OK() {
		openloop.Dead(l.T, throttleMeasures(l.T.Bench.Machine))
		return nil
	}
	l.Frame = 1 / rate.Value
	for _, step := range []struct {
		play func() error
		read func()
	}{
		{l.courses, l.readCourses}, {l.engage, func() {}}, {l.findThresholds, l.readArming}, {l.fine, func() {}}, {l.timeFollow, l.readLine},
	} {
		if err := step.play(); err != nil {
			return err
		}
		step.read()
	}
	l.readTransmitter()
	return l.Reset(0)
}

// timeFollow moves the stick up and down below the arming threshold and times
// the throttle.
func (l *throttleTest) timeFollow() error {
	if !l.follows {
		return nil
	}
	low, high := l.line.From+0.02, min(l.line.To, 0.8*l.orNone(l.arm))
	if high-low < openloop.Clearly {
		return nil
	}
	l.Kind = "following"
	if err := l.Reset(0); err != nil {
		return err
	}
	for i := range 8 {
		from, to := low, high
		if i%2 == 1 {
			from, to = high, low
		}
		part, _, err := l.T.Play(l.Phase(to, 0, 0.3+0.0031*float64(i)+2*l.Frame)) // at another moment of the stick's frame each time
		if err != nil {
			return err
		}
		half, up := l.line.At((from+to)/2), l.line.At(to) > l.line.At(from)
		for _, p := range part.Pulses {
			if (l.Share(p.Width) > half) == up {
				l.follow = append(l.follow, p.Start+p.Width-part.Time[0])
				break
			}
		}
	}
	return nil
}

// orNone is a threshold, or the whole travel where there is none.
func (l *throttleTest) orNone(threshold float64) float64 {
	if l.thresholds != "" {
		return 1
	}
	return threshold
}
