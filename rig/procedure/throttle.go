package procedure

import (
	"context"

	"govrig/rig/measure"
	"govrig/rig/measure/pulse"
)

// ThrottleBriefing is that of Throttle.
var ThrottleBriefing = Briefing{
	Purpose: "Finds out how the governor's throttle output follows the stick, when it takes up governing, and what that means at the carburettor.",
	Connect: linesGoverned, Moves: movesServo, Hurts: hurtsStart,
}

// ThrottleOptions are those of Throttle; there are none yet.
type ThrottleOptions struct{}

// Throttle moves the stick with and without pickup pulses, the engine left out,
// and reads the throttle line: how it follows, its frames and steps, at which
// stick the governor takes up and lets go, and where its ends stand at the
// machine's carburettor.
func Throttle(ctx context.Context, b *Bench, o ThrottleOptions) (*Run, error) {
	declared := throttleMeasures(b.Machine)
	return b.run(ctx, plan{name: "throttle", options: o, declared: declared, body: func(t *test) error {
		l := &throttleTest{stand: newStand(t, float64(b.Machine.Governor.SpeedHigh))}
		return l.play()
	}})
}

// throttleTest is what Throttle found so far.
type throttleTest struct {
	*stand
	rest       []Pulse // with a low stick and no pulses
	silent     course  // without pulses
	idling     course  // with pulses
	follows    bool    // in either
	line       pulse.Line
	turn       float64   // speed at which the governor took up, rad/s; 0 when it did not
	took       float64   // time that it took, s
	opened     float64   // where the throttle then went, share
	openTime   float64   // s
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

// clearly is how far the throttle must be from where it would be otherwise for
// the difference to count, as a share of the travel.
const clearly = 0.1

// play goes through the phases and reads each as soon as it can. Without
// throttle pulses it ends at once.
func (l *throttleTest) play() error {
	l.name = "stick low, no pulses"
	part, _, err := l.t.play(l.phase(0, 0, 2))
	if err != nil {
		return err
	}
	l.rest = part.Pulses
	rate := pulse.Rate(starts(l.rest))
	if !rate.OK() {
		dead(l.t, throttleMeasures(l.t.bench.Machine))
		return nil
	}
	l.frame = 1 / rate.Value
	for _, step := range []struct {
		play func() error
		read func()
	}{
		{l.courses, l.readCourses}, {l.takeUp, func() {}}, {l.findThresholds, l.readArming}, {l.timeFollow, l.readLine},
	} {
		if err := step.play(); err != nil {
			return err
		}
		step.read()
	}
	return l.reset(0)
}

// timeFollow moves the stick up and down below the arming threshold and times
// the throttle.
func (l *throttleTest) timeFollow() error {
	if !l.follows {
		return nil
	}
	low, high := l.line.From+0.02, min(l.line.To, 0.8*l.orNone(l.arm))
	if high-low < clearly {
		return nil
	}
	l.name = "following"
	if err := l.reset(0); err != nil {
		return err
	}
	for i := range 8 {
		from, to := low, high
		if i%2 == 1 {
			from, to = high, low
		}
		part, _, err := l.t.play(l.phase(to, 0, 0.3+0.0031*float64(i)+2*l.frame)) // at another moment of the stick's frame each time
		if err != nil {
			return err
		}
		half, up := l.line.At((from+to)/2), l.line.At(to) > l.line.At(from)
		for _, p := range part.Pulses {
			if (l.share(p.Width) > half) == up {
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

func starts(pulses []Pulse) (out []float64) {
	for _, p := range pulses {
		out = append(out, p.Start)
	}
	return out
}

func widths(pulses []Pulse) (out []float64) {
	for _, p := range pulses {
		out = append(out, p.Width)
	}
	return out
}

// reading is a value, or the reason for having none.
func reading(ok bool, value float64, why string) measure.Reading {
	if !ok {
		return measure.Missing("%s", why)
	}
	return measure.Read(value)
}
