package rig

import (
	"math"

	"govrig/protocol"
	"govrig/rig/tick"
)

// answers follows what the board makes of the drives: which it has applied, and
// how old the news in it is by then.
type answers struct {
	rate   float64 // of the board's ticks, 1/s
	last   protocol.Telemetry
	frames int64
	asked  [256]int64 // telemetry moment that the drive of each sequence answers

	// delay is the usual time, in ticks, from a telemetry moment to its drive's
	// coming into force, spread how far it usually is from that, and oldest how
	// old the news in force has lately been at most. All are 0 until a drive has
	// been applied.
	delay, spread, oldest float64

	interval float64 // between the newest two frames, ticks
}

// How fast these follow the wire, as shares a frame. News that is older is
// believed at once.
const (
	delayFollows  = 1. / 32
	oldestFollows = 1. / 256
)

// near is how close, s, an edge may be for a board to let it happen where it is.
const near = 1e-4

// lead is the age, in ticks, at which a drive will very likely be in force. To reckon with it too late costs a little of the news, too early a
// jump of an edge.
func (a *answers) lead() float64 { return a.delay + 2*a.spread + near*a.rate }

// lasts is how long a drive is in force, in ticks: until the answer to the next
// frame is, or longer where the news in force has lately been older than that.
func (a *answers) lasts() float64 { return math.Max(a.interval, a.oldest-a.delay) }

// frame takes in a telemetry frame; answered is the sequence of the newest
// drive sent.
func (a *answers) frame(t *protocol.Telemetry, now int64, answered uint8, h *Health) {
	if a.frames > 0 {
		h.FramesLost += int64(t.Sequence - a.last.Sequence - 1)
		h.BadFrames += int64(t.BadFrames - a.last.BadFrames)
		h.Overruns += int64(t.Overruns - a.last.Overruns)
		h.LateEdges += int64(t.LateEdges - a.last.LateEdges)
		h.LostCaptures += int64(t.LostCaptures - a.last.LostCaptures)
		a.interval = float64(now - a.asked[answered])
		a.answer(t, now, answered, h)
	}
	h.Frames++
	a.frames++
	a.last, a.asked[answered+1] = *t, now
}

// answer looks at whether the drive to the frame before was applied, and after
// what time the newest that has been applied since was.
func (a *answers) answer(t *protocol.Telemetry, now int64, answered uint8, h *Health) {
	driven := t.Flags&protocol.TelemetryDriven != 0
	if !driven || t.AppliedDrive != answered {
		h.LateFrames++
	}
	ours := a.frames > 255 || int64(t.AppliedDrive-1) < a.frames // and not of the loop before
	if !driven || !ours {
		return
	}
	asked := a.asked[t.AppliedDrive]
	age := float64(now - asked)
	a.oldest = max(age, a.oldest+oldestFollows*(age-a.oldest))
	if t.AppliedDrive == a.last.AppliedDrive && a.last.Flags&protocol.TelemetryDriven != 0 {
		return
	}
	delay := tick.Before24(now, t.AppliedTicks) - asked
	a.follow(float64(delay))
	h.delay(delay)
}

// follow takes in a delay.
func (a *answers) follow(delay float64) {
	if a.delay == 0 {
		a.delay = delay
	}
	off := delay - a.delay
	a.delay += delayFollows * off
	a.spread += delayFollows * (math.Abs(off) - a.spread)
}
