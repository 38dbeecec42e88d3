package rig

import (
	"fmt"
	"time"
)

// waiting watches how long nothing passed between board and host, by either's
// clock: a computer that sleeps may stop its own, and messages that were kept
// for it while it stood still show no gap.
type waiting struct {
	some    bool
	ticks   uint32        // of the newest frame
	host    time.Duration // when it was seen
	longest time.Duration
}

// waited takes in the moment of a frame.
func (s *Session) waited(ticks uint32) {
	w, host := &s.waiting, time.Duration(0)
	if s.Clock != nil {
		host = s.Clock()
	}
	if w.some {
		board := time.Duration(float64(ticks-w.ticks) / float64(s.Identity.TickHz) * float64(time.Second))
		w.longest = max(w.longest, board, host-w.host)
	}
	w.some, w.ticks, w.host = true, ticks, host
}

// failsafe is ErrFailsafe with what the host knows of the reason.
func (w *waiting) failsafe() error {
	return fmt.Errorf("%w (once nothing passed for %.1f s, as when the computer sleeps)", ErrFailsafe, w.longest.Seconds())
}
