package rig

import (
	"math"

	"govrig/protocol"
)

// throttle holds the pulses of the throttle line that the board has timed but
// the plant has not reached, and what the newest that it has reached make expect.
type throttle struct {
	pulses [2 * protocol.MaxPulses]struct{ end, width int64 }
	n      int
	width  float64 // s, of the newest that the plant has seen

	end, frame int64      // of that: tick of its end, and after the end before
	moves      [3]float64 // of the width to the newest, and to the two before, s
}

func (th *throttle) take(start, width int64) {
	if th.n == len(th.pulses) {
		th.n = copy(th.pulses[:], th.pulses[1:])
	}
	th.pulses[th.n].end, th.pulses[th.n].width = start+width, width
	th.n++
}

// until moves on to the newest pulse that had ended by tick.
func (th *throttle) until(tick int64, rate float64) {
	for th.n > 0 && th.pulses[0].end <= tick {
		th.see(th.pulses[0].end, float64(th.pulses[0].width)/rate)
		th.n = copy(th.pulses[:], th.pulses[1:th.n])
	}
}

func (th *throttle) see(end int64, width float64) {
	move := width - th.width
	if th.end == 0 {
		move = 0
	} else {
		th.frame = end - th.end
	}
	th.moves = [3]float64{move, th.moves[0], th.moves[1]}
	th.end, th.width = end, width
}

const (
	late    = 1.25 // frames after which a pulse counts as not coming
	damping = 0.5  // of a move from frame to frame
)

// foreseen is the width, s, that the plant will probably see at a coming tick, seen
// from now: a governor goes on as it does, ever less (a damped trend: Gardner and
// McKenzie, Forecasting trends in time series, Management Science 31, 1985, from
// memory). On a slow wire the board plays by this for longer than the servo takes to
// move.
func (th *throttle) foreseen(tick, now int64) float64 {
	if th.frame == 0 || float64(now-th.end) > late*float64(th.frame) {
		return th.width
	}
	width, move := th.width, th.move()
	for end := th.end + th.frame; end <= tick; end += th.frame {
		move *= damping
		width += move
	}
	return math.Max(0, width)
}

// move is by how much the next pulse would be longer undamped, s: the move before, and
// its own change where that was the same way twice, by the lesser.
func (th *throttle) move() float64 {
	m := th.moves
	return m[0] + lesser(m[0]-m[1], m[1]-m[2])
}

// lesser is the one nearer to 0 of two of the same sign, else 0.
func lesser(a, b float64) float64 {
	switch {
	case a*b <= 0:
		return 0
	case math.Abs(a) < math.Abs(b):
		return a
	}
	return b
}
