package throttle

import (
	"fmt"
	"math"

	"govrig/rig/execution/governed"
	"govrig/rig/execution/openloop"
	"govrig/rig/measure/pulse"
)

// courses move the stick over its whole way without pulses, and up to where
// it will govern with those of an idling engine.
func (l *throttleTest) courses() (err error) {
	l.Kind = "stick up, no pulses"
	if l.silent, err = l.courseOf(sticks, 0); err != nil {
		return err
	}
	l.Kind = "stick up, idle pulses"
	if l.idling, err = l.courseOf(sticks[:lowSticks], l.idle()); err != nil {
		return err
	}
	l.line, l.follows, l.strays = l.idling.line, l.idling.follows, l.idling.strays
	if !l.follows {
		l.line, l.follows, l.strays = l.silent.line, l.silent.follows, l.silent.strays
	}
	return nil
}

func (l *throttleTest) idle() float64 { return float64(l.T.Bench.Machine.Engine.IdleSpeed) }

// course is the throttle over the stick, and the stretch in which it follows.
type course struct {
	throttle []float64
	line     pulse.Line
	follows  bool
	strays   float64 // at most from the line, share
}

// last is the throttle at the end of the course, 0 where there was none.
func (c *course) last() float64 {
	if len(c.throttle) == 0 {
		return 0
	}
	return c.throttle[len(c.throttle)-1]
}

// full reports whether the throttle follows to the open end, and stays there.
func (c *course) full() bool {
	return c.follows && c.line.To > 0.9 && c.last() > c.line.At(c.line.To)-openloop.Clearly
}

func (l *throttleTest) courseOf(at []float64, turn float64) (c course, err error) {
	stick, throttle, err := l.Course(at, turn)
	if err != nil {
		return c, err
	}
	c.throttle = throttle
	for _, tolerance := range []float64{0.005, 0.01, 0.02, 0.04} {
		line, ok := pulse.Follow(stick, throttle, tolerance)
		if ok && (!c.follows || line.To-line.From > muchLonger*(c.line.To-c.line.From)) {
			c.line, c.follows = line, true
		}
	}
	c.strays = c.stray(stick)
	return c, nil
}

// muchLonger is how much longer a stretch that lies less well on a line has to be
// to be the better one: of coarse steps, a few may lie on a line by chance.
const muchLonger = 1.3

// stray is how far the throttle strays from the line in its stretch, a share.
func (c *course) stray(stick []float64) (most float64) {
	for i, at := range stick {
		if c.follows && at >= c.line.From && at <= c.line.To {
			most = max(most, math.Abs(c.throttle[i]-c.line.At(at)))
		}
	}
	return most
}

// words say what the throttle does while the stick goes up.
func (c *course) words() string {
	up := fmt.Sprintf("follows the stick up to about %.0f %%", 100*c.line.To)
	switch {
	case !c.follows:
		return "does not follow the stick"
	case c.full():
		return "follows the stick over its whole way"
	case c.last() < 0.05:
		return up + " and shuts above"
	case c.last() > c.line.At(governed.GovernedStick)+openloop.Clearly:
		return up + " and opens by itself above"
	}
	return up
}
