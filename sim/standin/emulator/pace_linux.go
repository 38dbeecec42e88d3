package emulator

import (
	"context"
	"time"
)

// This file is the only one of the package that knows wall time, and it uses
// it only to hold the emulated board back to the speed of a real one.

// patience is how far the board may fall behind before its time is let slip.
const patience = 100 * time.Millisecond

// pace holds ticks to wall time by absolute deadlines, so that late wake-ups
// do not add up.
type pace struct {
	start time.Time // when tick 0 was or would have been
}

func newPace() *pace { return &pace{time.Now()} }

// until waits for a tick's time. A board that has fallen far behind, because
// the machine was busy, goes on from where it is rather than racing after. The
// context's end is the only error.
func (p *pace) until(ctx context.Context, tick int64) error {
	due := p.start.Add(time.Duration(float64(tick) / TickHz * float64(time.Second)))
	wait := time.Until(due)
	if wait < -patience {
		p.start = p.start.Add(-wait)
	}
	if wait <= 0 {
		return ctx.Err()
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-timer.C:
		return ctx.Err()
	case <-ctx.Done():
		return ctx.Err()
	}
}
