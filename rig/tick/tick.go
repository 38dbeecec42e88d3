// Package tick turns the board's short tick counts into moments that never
// wrap, and finds out how wrong the board's clock is.
package tick

// Extender follows a 32-bit tick count, which wraps every 2^32 ticks (268 s at
// 16 MHz), through moments that are less than half a wrap apart.
type Extender struct {
	now     int64
	started bool
}

// Extend gives the moment that t stands for. The first one is t itself.
func (e *Extender) Extend(t uint32) int64 {
	if !e.started {
		e.now, e.started = int64(t), true
	} else {
		e.now += int64(int32(t - uint32(e.now)))
	}
	return e.now
}

// Before24 gives the newest moment at or before now whose low 24 bits are low.
// It is right for moments less than 2^24 ticks (1.05 s at 16 MHz) old.
func Before24(now int64, low uint32) int64 {
	return now - (now-int64(low))&0xFFFFFF
}
