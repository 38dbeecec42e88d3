package predict

import (
	"math"
	"math/cmplx"

	"govrig/rig/measure/loop"
	"govrig/sim/heli"
	"govrig/sim/standin/governor"
)

// openLoop is the linearised loop of governor and machine about a trim, as the
// package's doc gives it.
func openLoop(g governor.Params, l *heli.Linear, gain, time float64) loop.Response {
	frame := 1 / g.FrameRate
	pulse := 2 * math.Pi / float64(g.PulsesPerTurn) / l.EngineSpeed
	travel := complex(gain*(g.ThrottleOpen-g.ThrottleClosed), 0)
	mean, hold := loop.Hold(max(frame, pulse)), loop.Hold(frame)
	late := loop.Delay(pulse/2 + l.ThrottlePulse)
	return func(w float64) complex128 {
		return travel * law(w, frame, time) * mean(w) * hold(w) * late(w) * l.Response(complex(0, w))
	}
}

// law is the governor's PI law for a gain of 1: what it adds up in a frame
// counts from the next. An integral time of 0 leaves the integral out.
func law(w, frame, time float64) complex128 {
	if time == 0 {
		return 1
	}
	return 1 + complex(frame/time, 0)/(cmplx.Exp(complex(0, w*frame))-1)
}

// margins are those of that loop, looked for from well below any integral's
// reach up to the highest frequency that the frames can carry.
func margins(g governor.Params, l *heli.Linear, gain, time float64) (loop.Margins, error) {
	return loop.MarginsOf(openLoop(g, l, gain, time), loop.Band{Min: 0.02, Max: math.Pi * g.FrameRate})
}
