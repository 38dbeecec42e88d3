package tick

import (
	"math"
	"time"

	"periph.io/x/conn/v3/physic"
)

// ClockError estimates how fast the board's clock runs against the host's.
//
// A frame is never seen early, only late by a delay that is never negative. So
// in each second of board time the frame that took least is the one to trust;
// the error is the drift of that least delay from the first second to the
// newest (the minimum filter of Cristian, Probabilistic clock synchronization,
// Distributed Computing 3, 1989, from memory).
type ClockError struct {
	// Rate is the nominal tick rate.
	Rate physic.Frequency

	first, present, done bucket
}

// bucket is one second of board time.
type bucket struct {
	start      int64
	tick       int64
	delay      float64 // least seen, s
	worst      float64
	some, full bool
}

// seconds is a span of nominal ticks, s.
func (c *ClockError) seconds(ticks int64) float64 {
	return float64(ticks) * float64(physic.Hertz) / float64(c.Rate)
}

// Add takes in that the frame made at tick was seen at host time.
func (c *ClockError) Add(tick int64, host time.Duration) {
	delay := host.Seconds() - c.seconds(tick)
	if c.present.some && c.seconds(tick-c.present.start) >= 1 {
		if !c.first.full {
			c.first = c.present
			c.first.full = true
		}
		c.done = c.present
		c.present = bucket{}
	}
	b := &c.present
	if !b.some {
		*b = bucket{start: tick, tick: tick, delay: delay, worst: delay, some: true}
		return
	}
	if delay < b.delay {
		b.tick, b.delay = tick, delay
	}
	b.worst = math.Max(b.worst, delay)
}

// Estimate gives the share by which the board's clock is fast (0.005 is half a
// per cent: it counts 1.005 nominal seconds in one) and the largest error that
// share can have, taken from how much the delays varied. ok is false until
// three seconds have been seen.
func (c *ClockError) Estimate() (fast, uncertainty float64, ok bool) {
	span := c.seconds(c.done.tick - c.first.tick)
	if !c.first.full || span < 2 {
		return 0, 0, false
	}
	// host = tick/Rate·(1−fast) + delay, to first order
	fast = -(c.done.delay - c.first.delay) / span
	jitter := math.Max(c.first.worst-c.first.delay, c.done.worst-c.done.delay)
	return fast, jitter / span, true
}

// worstClock is more than any board's clock is off, as a share: a ceramic
// resonator is within 1.1 % (0.5 % new, 0.3 % warm, 0.3 % old; common practice,
// no source), and a serial port takes no more than about 2 %.
const worstClock = 0.02

// Believed is the share by which a board's clock is to be taken for fast when
// Estimate gives fast and uncertainty: 0 where that is not known better than it
// is large, and where it is more than a clock can be off: then the computer, or
// an emulated board, stood still.
func Believed(fast, uncertainty float64) float64 {
	if size := math.Abs(fast); size <= uncertainty || size > worstClock {
		return 0
	}
	return fast
}
