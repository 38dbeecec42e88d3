package predict

import (
	"math"

	"govrig/rig/measure/loop"
	"govrig/sim/heli"
	"govrig/sim/standin/governor"
)

// openLoop is the linearised loop of governor and machine about a trim, as the
// package's doc gives it.
func openLoop(g governor.Params, l *heli.Linear, gain, time float64) loop.Response {
	g.Gain, g.IntegralTime = gain, time
	return func(w float64) complex128 {
		return -g.Response(w, l.EngineSpeed, l.ThrottlePulse) * l.Response(complex(0, w))
	}
}

// margins are those of that loop, looked for from well below any integral's
// reach up to the highest frequency that the frames can carry.
func margins(g governor.Params, l *heli.Linear, gain, time float64) (loop.Margins, error) {
	return loop.MarginsOf(openLoop(g, l, gain, time), loop.Band{Min: 0.02, Max: math.Pi * g.FrameRate})
}
