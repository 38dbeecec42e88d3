package rig

import (
	"fmt"
	"time"
)

// waiting watches how long nothing passed between board and host, by either's
// clock: a computer that sleeps may stop its own, and messages that were kept
// for it while it stood still show no gap.
type waiting struct {
	heard, answered bool
	ticks           uint32        // of the newest frame
	seen            time.Duration // by the host, of the newest frame answered
	longest         time.Duration
}

// board takes in the moment of a frame.
func (w *waiting) board(ticks, hz uint32) {
	if w.heard {
		w.longest = max(w.longest, time.Duration(float64(ticks-w.ticks)/float64(hz)*float64(time.Second)))
	}
	w.heard, w.ticks = true, ticks
}

// host takes in when the host had answered a frame.
func (w *waiting) host(now time.Duration) {
	if w.answered {
		w.longest = max(w.longest, now-w.seen)
	}
	w.answered, w.seen = true, now
}

// failsafe is ErrFailsafe with what the host knows of the reason.
func (w *waiting) failsafe() error {
	return fmt.Errorf("%w (once nothing passed for %.1f s, as when the computer sleeps)", ErrFailsafe, w.longest.Seconds())
}
