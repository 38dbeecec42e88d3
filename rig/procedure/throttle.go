package procedure

import (
	"context"
	"math"
	"slices"

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

// courses move the stick over its whole way without pulses, and up to where
// it will govern with those of an idling engine.
func (l *throttleTest) courses() (err error) {
	l.name = "stick up, no pulses"
	if l.silent, err = l.courseOf(sticks, 0); err != nil {
		return err
	}
	l.name = "stick up, idle pulses"
	if l.idling, err = l.courseOf(sticks[:lowSticks], l.idle()); err != nil {
		return err
	}
	l.line, l.follows = l.idling.line, l.idling.follows
	if !l.follows {
		l.line, l.follows = l.silent.line, l.silent.follows
	}
	return nil
}

func (l *throttleTest) idle() float64 { return float64(l.t.bench.Machine.Engine.IdleSpeed) }

// course is the throttle over the stick, and the stretch in which it follows.
type course struct {
	throttle []float64
	line     pulse.Line
	follows  bool
}

// last is the throttle at the end of the course, 0 where there was none.
func (c *course) last() float64 {
	if len(c.throttle) == 0 {
		return 0
	}
	return c.throttle[len(c.throttle)-1]
}

// full tells whether the throttle follows to the open end.
func (c *course) full() bool { return c.follows && c.line.To > 0.9 }

func (l *throttleTest) courseOf(at []float64, turn float64) (c course, err error) {
	stick, throttle, err := l.course(at, turn)
	if err != nil {
		return c, err
	}
	c.throttle = throttle
	c.line, c.follows = pulse.Follow(stick, throttle, 0.005, 0.01, 0.02, 0.04)
	return c, nil
}

// takeUp looks for a pickup speed at which the governor takes up: the throttle
// is then neither where the stick has it nor where it is without pulses. It
// lets it open all the way.
func (l *throttleTest) takeUp() error {
	l.name = "no pulses"
	silent, err := l.silence(1)
	if err != nil {
		return err
	}
	passed := l.line.At(governedStick)
	own := func(share float64) bool {
		return silent.outside(share, clearly) && (!l.follows || math.Abs(share-passed) > clearly)
	}
	m := l.t.bench.Machine
	for _, turn := range []float64{l.idle(), 0.9 * float64(m.Governor.SpeedLow)} {
		l.name = "taking up"
		if err := l.reset(turn); err != nil {
			return err
		}
		seen, took, err := l.watch(governedStick, turn, 4, own)
		if err != nil {
			return err
		}
		if seen {
			l.turn, l.took = turn, took
			return l.open()
		}
	}
	return nil
}

// open waits until the governing throttle goes no farther.
func (l *throttleTest) open() error {
	l.name = "opening"
	window := int(math.Ceil(0.4 / l.frame))
	still := func(part Trace) bool {
		shares := l.shares(part)
		if len(shares) < window {
			return false
		}
		last := shares[len(shares)-window:]
		return slices.Max(last)-slices.Min(last) < 0.005
	}
	part, err := l.t.playUntil(l.phase(governedStick, l.turn, 6), still)
	if err != nil {
		return err
	}
	l.governing = widths(part.Pulses)
	shares := l.shares(part)
	l.opened = middle(shares[max(0, len(shares)-window):])
	l.openTime = l.took + part.Time[len(part.Time)-1] - part.Time[0]
	return nil
}

// findThresholds halves the stick to where the governor takes up and lets go.
func (l *throttleTest) findThresholds() (err error) {
	switch {
	case !l.follows:
		l.thresholds = "the throttle never followed the stick, so that taking up could not be told from letting go"
		return nil
	case l.turn == 0:
		l.thresholds = "with the stick up and pickup pulses the governor did nothing of its own"
		return nil
	}
	l.name = "arming"
	always, err := l.armed(0.02)
	if err != nil {
		return err
	}
	if always {
		l.thresholds = "it governs with the stick all but closed"
		return nil
	}
	if l.arm, err = l.threshold(0.02, governedStick, l.armed); err != nil {
		return err
	}
	l.name = "release"
	l.release, err = l.threshold(0, l.arm, l.holds)
	return err
}

// wait is how long a governor is given to take up or let go, s.
func (l *throttleTest) wait() float64 { return min(3, max(0.5, 0.3+2*l.took)) }

// passes tells whether the throttle stands where the stick has it.
func (l *throttleTest) passes(stick float64) func(share float64) bool {
	tolerance := 0.02
	if step := pulse.Step(l.governing, l.resolution()); step.OK() {
		tolerance = max(tolerance, 1.5*step.Value/math.Abs(l.travel))
	}
	at := l.line.At(max(stick, l.line.From))
	return func(share float64) bool { return math.Abs(share-at) < tolerance }
}

func (l *throttleTest) resolution() float64 { return 1 / float64(l.t.session.Identity.TickHz) }

// armed tells whether the governor takes up at a stick, coming from below.
func (l *throttleTest) armed(stick float64) (bool, error) {
	if err := l.reset(l.turn); err != nil {
		return false, err
	}
	passes := l.passes(stick)
	seen, _, err := l.watch(stick, l.turn, l.wait(), func(share float64) bool { return !passes(share) })
	return seen, err
}

// holds tells whether the governor still governs at a stick, coming from above.
func (l *throttleTest) holds(stick float64) (bool, error) {
	if err := l.reset(l.turn); err != nil {
		return false, err
	}
	open := func(share float64) bool { return math.Abs(share-l.opened) < 0.03 }
	if _, _, err := l.watch(governedStick, l.turn, 2*l.openTime+0.5, open); err != nil {
		return false, err
	}
	l.governing = append(l.governing, widths(l.watched.Pulses)...)
	passes, _, err := l.watch(stick, l.turn, l.wait(), l.passes(stick))
	return !passes, err
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
