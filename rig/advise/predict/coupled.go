package predict

import (
	"math"

	"govrig/protocol"
	"govrig/sim"
	"govrig/sim/heli"
	"govrig/sim/standin/governor"
)

// The clock of a prediction is that of the rig: ticks of 62.5 ns, a sample every
// 2 ms. Its plant steps are twice as long as the rig's, 500 µs: half the work, and
// with a method of second order nothing that is seen in a prediction.
const (
	tickRate  = protocol.TickHz * 1.0 // 1/s
	stepTicks = 8_000
	stepTime  = stepTicks / tickRate // s
	perSample = 4                    // steps
	// pickupTicks is the width of a pickup pulse, as the rig plays it.
	pickupTicks = 8_000
)

// coupled is a plant and a governor joined without wire or board: the governor
// sees a pickup edge at the tick at which the magnet passes, and the plant a
// throttle pulse from the first step after its end.
type coupled struct {
	plant *heli.Plant
	gov   *governor.Governor
	line  governor.Params

	tick    int64 // at which the next step begins
	state   sim.State
	spacing float64 // crank angle from one magnet to the next, rad
	next    float64 // crank angle of the next pass
	passes  int

	width  float64 // throttle pulse that the plant has seen, s
	coming float64 // the one on its way, s
	ends   int64   // and the tick of its end
}

// newCoupled joins a plant at rest in a trim, whose throttle pulse is given in
// s, to a governor that will hold it there, toward the speed that selectWidth,
// s, asks for.
//
// A governor takes up governing at the output it has then. So it is made to
// arm at a full stick only, and passes the trim through until it has measured
// the speed.
func newCoupled(plant *heli.Plant, pulse float64, p governor.Params, selectWidth float64) (*coupled, error) {
	p.ArmOn, p.ArmOff, p.ArmSpeed = 1, 1, 0
	p.Dialled, p.Stored = 0, nil // it is asked for its speed by the pulse, whatever the real one is
	g, err := governor.New(p, -int64(math.Round(tickRate/p.FrameRate)))
	if err != nil {
		return nil, err
	}
	spacing := 2 * math.Pi / float64(p.PulsesPerTurn)
	c := &coupled{plant: plant, gov: g, line: p, state: plant.State(), spacing: spacing, next: spacing, width: pulse, coming: pulse}
	c.servo(governor.Stick, pulse, 0)
	c.servo(governor.Select, selectWidth, 0)
	return c, nil
}

// servo plays one servo pulse of a width, s, that ends at a tick.
func (c *coupled) servo(line governor.Line, width float64, end int64) {
	c.gov.Edge(line, end-int64(math.Round(width*tickRate)), true)
	c.gov.Edge(line, end, false)
}

// step moves plant and governor on by one plant step at a collective, rad.
func (c *coupled) step(collective float64) {
	if c.ends <= c.tick {
		c.width = c.coming
	}
	before := c.state
	c.plant.Step(sim.Input{ThrottlePulse: c.width, Collective: collective})
	c.state = c.plant.State()
	for c.state.CrankAngle >= c.next {
		share := sim.Crossing(&before, &c.state, c.next, stepTime)
		c.pass(c.tick + int64(math.Round(share*stepTicks)))
	}
	c.tick += stepTicks
	c.frames(c.tick)
}

// The stick goes up after so many passes, and its pulse comes again after so many.
const (
	stickFirst = 3
	stickEvery = 8
)

// pass lets a magnet pass the pickup at a tick.
func (c *coupled) pass(tick int64) {
	c.frames(tick)
	c.gov.Edge(governor.Pickup, tick, !c.line.PickupLow)
	c.gov.Edge(governor.Pickup, tick+pickupTicks, c.line.PickupLow)
	c.next += c.spacing
	if c.passes++; c.passes%stickEvery == stickFirst { // again and again: a stick that falls silent is a fault
		c.servo(governor.Stick, c.line.ThrottleOpen+(c.line.ThrottleOpen-c.line.ThrottleClosed)/10, tick)
	}
}

// frames sends the throttle pulses that start before a tick.
func (c *coupled) frames(before int64) {
	for c.gov.NextFrame() < before {
		rise, width := c.gov.Frame()
		c.width = c.coming // one pulse has ended when the next starts
		c.coming, c.ends = float64(width)/tickRate, rise+width
	}
}
