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

// forecast is what the throttle is taken to do from now on: its width, s, goes on
// moving from frame to frame of so many ticks, from the one that ended at end. Without
// a frame it stays.
type forecast struct {
	width, move float64
	end, frame  int64
}

// forecast is what the plant will probably see, seen from now: a governor goes on as it
// does, ever less (a damped trend: Gardner and McKenzie, Forecasting trends in time
// series, Management Science 31, 1985, from memory). On a slow wire the board plays by
// this for longer than the servo takes to move.
func (th *throttle) forecast(now int64) forecast {
	move := th.move()
	if th.frame == 0 || move == 0 || float64(now-th.end) > late*float64(th.frame) {
		return forecast{width: th.width}
	}
	return forecast{th.width, move, th.end, th.frame}
}

// at is the width, s, at a coming tick.
func (f forecast) at(tick int64) float64 {
	if f.frame == 0 {
		return f.width
	}
	for end := f.end + f.frame; end <= tick; end += f.frame {
		f.move *= damping
		f.width += f.move
	}
	return math.Max(0, f.width)
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
