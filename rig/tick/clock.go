package tick

import (
	"errors"
	"fmt"
	"math"
	"time"

	"periph.io/x/conn/v3/physic"
)

// ClockError estimates how fast the board's clock runs against the host's.
//
// A frame is never seen early, only late by a delay that is never negative. So
// of all frames in a window of time the one that took least is the one to trust
// (the minimum filter of Cristian, Probabilistic clock synchronization,
// Distributed Computing 3, 1989, and the clock filter of RFC 5905, section 10;
// both from memory). The clock's error is the drift of those least delays, a
// step of them is a step and no drift, and where parts of the run do not agree
// on the drift it is not known.
type ClockError struct {
	// Rate is the nominal tick rate.
	Rate physic.Frequency
	// Standing says that the board's time stands still for its host now and
	// then, as an emulated board's does: its clock is not known then, but no
	// reason for doubt.
	Standing bool

	windows []window
	length  float64 // of a window, s
	first   int64   // tick of the first frame
	frames  int64
}

// window is a span of board time and the frame in it that took least.
type window struct {
	number    int64   // counted in lengths from the first frame
	at, delay float64 // of that frame, s
}

// windowsMax is how many windows are kept: then each two become one, so that a
// run of any length takes the same memory. shortest is their length at first, s.
const windowsMax, shortest = 64, 1. / 16

// Add takes in that the frame made at tick was seen at host time.
func (c *ClockError) Add(tick int64, host time.Duration) {
	if c.frames == 0 {
		c.first, c.length = tick, shortest
	}
	c.frames++
	at := float64(tick-c.first) * float64(physic.Hertz) / float64(c.Rate)
	w := window{int64(at / c.length), at, host.Seconds() - at}
	c.windows = joined(c.windows, w)
	for len(c.windows) > windowsMax {
		c.halve()
	}
}

// joined gives the windows with one more, which is the last or comes after it.
func joined(all []window, w window) []window {
	last := len(all) - 1
	switch {
	case last < 0 || all[last].number != w.number:
		return append(all, w)
	case w.delay < all[last].delay:
		all[last] = w
	}
	return all
}

// halve makes one window of each two.
func (c *ClockError) halve() {
	c.length *= 2
	kept := c.windows[:0]
	for _, w := range c.windows {
		w.number /= 2
		kept = joined(kept, w)
	}
	c.windows = kept
}

const (
	// knownSpan is how long, s, the clock is watched before it can be known, and
	// knownError the largest uncertainty, as a share, with which it is.
	knownSpan, knownError = 3, 1e-3
	// worstClock is more than any board's clock is off, as a share: a ceramic
	// resonator is within 1.1 % (0.5 % new, 0.3 % warm, 0.3 % old; common
	// practice, no source), and a serial port takes no more than about 2 %.
	worstClock = 0.02
)

// Estimate gives the share by which the board's clock is fast (0.005 is half a
// per cent: it counts 1.005 nominal seconds in one) and the largest error that
// share can have. ok is false where that is not known: before three seconds have
// been seen, where the delays vary too much, and where Doubt gives a reason.
func (c *ClockError) Estimate() (fast, uncertainty float64, ok bool) {
	d, seen := c.drift()
	if !seen || d.span < knownSpan || !d.agreed || d.uncertainty > knownError || math.Abs(d.fast) > worstClock {
		return 0, 0, false
	}
	return d.fast, d.uncertainty, true
}

// ErrDoubtful is a board's clock and a computer's that do not agree.
var ErrDoubtful = errors.New("the board's clock and the computer's do not agree, so that no time and no speed is sure; " +
	"the governor has no part in it: close other programs, keep the computer from sleeping, and run it again; " +
	"if it comes again, try another board")

// Doubt gives a reason, an ErrDoubtful, why nothing may be said that depends on
// the clocks; nil is none. A run with such a reason is void.
func (c *ClockError) Doubt() error {
	d, seen := c.drift()
	switch {
	case !seen || c.Standing || d.span < knownSpan:
		return nil
	case !d.agreed:
		return fmt.Errorf("%w (the drift between them changed in the run)", ErrDoubtful)
	case math.Abs(d.fast)-d.uncertainty > worstClock:
		return fmt.Errorf("%w (the board's is %+.1f %% off)", ErrDoubtful, 100*d.fast)
	}
	return nil
}

// Bounds gives the shares between which the clock's error lies, be that far
// apart. ok is false until half a dozen windows have been seen, which takes less
// than half a second.
func (c *ClockError) Bounds() (low, high float64, ok bool) {
	d, seen := c.drift()
	return d.fast - d.uncertainty, d.fast + d.uncertainty, seen
}

// Wrong reports whether bounds leave no doubt that a clock is further off than
// any board's is, and Right that it is not.
func Wrong(low, high float64) bool { return low > worstClock || high < -worstClock }

// Right reports whether bounds leave no doubt that a clock is no further off
// than a board's may be.
func Right(low, high float64) bool { return low > -worstClock && high < worstClock }

// Believed is the share by which a board's clock is to be taken for fast when
// Estimate gives fast and uncertainty: 0 where that is not known better than it
// is large, and where it is more than a clock can be off, as older records have
// it: then the computer, or an emulated board, stood still.
func Believed(fast, uncertainty float64) float64 {
	if size := math.Abs(fast); size <= uncertainty || size > worstClock {
		return 0
	}
	return fast
}
