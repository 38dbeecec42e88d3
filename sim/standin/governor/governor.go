// Package governor is the stand-in governor: what sits on the board's lines
// when no real governor is on the bench.
//
// It is a discrete controller of engine speed (see law), a PI one in its simplest
// form, run once per output frame. Speed is then measured as the pulses since the
// last frame over the time between their edges. One that has been identified on
// the bench has a law with more parts, which sees a speed of a known age (see
// history). Below its arming threshold it passes the stick through. What its lines
// look like from outside (frames, steps, thresholds) is common practice, no source.
package governor

import (
	"cmp"
	"math"
)

// Line is one of the governor's inputs.
type Line uint8

// The inputs.
const (
	Pickup Line = iota
	Stick
	Select
)

// Governor is a stand-in governor. Its moments are ticks that grow without
// wrapping.
type Governor struct {
	p     Params
	meter meter
	stick pulse
	sel   pulse

	leading, before, counted int64 // pickup edges: the newest leading one, the one before, the newest counted

	dark   int64 // frames still to be left out after a restart
	frame  int64 // frames sent since the start
	start  int64
	rate   float64 // ticks a frame
	armed  bool
	failed bool
	set    float64 // the set speed on its way up
	law    law
	output float64 // share of throttle travel
}

// New gives a governor that is switched on at tick start.
func New(p Params, start int64) (*Governor, error) {
	if err := p.Validate(); err != nil {
		return nil, err
	}
	return fresh(p, start), nil
}

func fresh(p Params, start int64) *Governor {
	return &Governor{
		p: p, start: start, rate: p.TickRate / p.FrameRate,
		meter: meter{loss: int64(p.LossTime * p.TickRate), gullible: p.BelievesSlow, last: start},
	}
}

// Restart switches the governor off and on again, as a dip of its supply does:
// it forgets all that it knew, hears nothing and sends no throttle pulse for
// the given time, s, and then begins anew.
func (g *Governor) Restart(off float64) {
	frame := g.frame
	*g = *fresh(g.p, g.start)
	g.frame, g.dark = frame, int64(math.Ceil(off*g.p.FrameRate))
	g.meter.last = g.NextFrame() + int64(float64(g.dark)*g.rate)
}

// Edge tells the governor that a line changed to high or low at tick. Edges
// come in the order of their ticks, and none after the tick of the next frame
// before Frame is called.
func (g *Governor) Edge(line Line, tick int64, high bool) {
	if g.dark > 0 {
		return
	}
	switch line {
	case Pickup:
		g.pickup(tick, high != g.p.PickupLow)
	case Stick:
		g.stick.edge(tick, high)
	case Select:
		g.sel.edge(tick, high)
	}
}

// Turn turns the gain knob up by some clicks, or down by negative ones. Two
// clicks double the gain.
func (g *Governor) Turn(clicks float64) {
	if g.p.KnobReversed {
		clicks = -clicks
	}
	g.p.Gain *= math.Exp2(clicks / 2)
}

// Dial sets the speed at the governor itself, rad/s of the engine.
func (g *Governor) Dial(speed float64) { g.p.Dialled = speed }

// pickup takes in an edge to active or back. A pulse counts from its leading
// edge, once its end has shown that it is one.
func (g *Governor) pickup(tick int64, active bool) {
	switch {
	case active && g.p.MaxActive == 0:
		g.count(tick)
	case active:
		g.leading = tick
	case g.p.MaxActive > 0 && g.leading != 0:
		spacing := g.leading - g.before
		if float64(tick-g.leading) < g.p.MaxActive*float64(spacing) {
			g.count(g.leading)
		}
		g.before = g.leading
	}
}

func (g *Governor) count(tick int64) {
	interval := tick - g.counted
	g.counted = tick
	if g.p.DeafAbove > 0 && float64(interval)*g.p.DeafAbove*float64(g.p.PulsesPerTurn) < 2*math.Pi*g.p.TickRate {
		return
	}
	g.meter.edge(tick)
}

// NextFrame is the tick at which the next throttle pulse starts.
func (g *Governor) NextFrame() int64 {
	return g.start + int64(math.Round(float64(g.frame+1)*g.rate))
}

// Frame runs the controller on what has come in so far and gives the throttle
// pulse that starts at NextFrame: its leading edge and its width, in ticks. A
// width of 0 is no pulse.
func (g *Governor) Frame() (rise, width int64) {
	rise = g.NextFrame()
	g.frame++
	if g.dark > 0 {
		g.dark--
		return rise, 0
	}
	g.output = g.control(rise)
	seconds := g.p.ThrottleClosed + g.output*(g.p.ThrottleOpen-g.p.ThrottleClosed)
	if g.p.OutputStep > 0 {
		seconds = math.Round(seconds/g.p.OutputStep) * g.p.OutputStep
	}
	return rise, int64(math.Round(seconds * g.p.TickRate))
}

// control gives the throttle for the frame that starts at tick now, as a share
// of the travel.
func (g *Governor) control(now int64) float64 {
	stick := g.stickShare(now)
	turns, lost := g.meter.speed(now)
	speed := g.p.engine(turns)
	if stick < g.p.ArmOff || (!g.armed && stick < g.p.ArmOn) {
		g.armed, g.failed = false, false
		return stick
	}
	g.failed = g.failed || lost
	switch {
	case g.failed && g.p.LossFull && g.armed:
		return 1
	case g.failed && g.p.LossOpen:
		return g.output
	case g.failed:
		g.armed = false
		return g.closing()
	}
	if !g.armed {
		if speed < g.p.ArmSpeed {
			return stick
		}
		g.armed, g.set = true, speed
		g.law.start(&g.p, g.output, speed, stick)
	}
	return g.govern(now, speed, stick)
}

// closing is the throttle on its way down once the pickup has failed.
func (g *Governor) closing() float64 {
	if g.p.LossFall == 0 {
		return 0
	}
	return math.Max(0, g.output-1/(g.p.FrameRate*g.p.LossFall))
}

// govern lets the law run for a frame that ends at tick now: once, on the speed
// since the frame before, or in small steps, on a speed of a known age.
func (g *Governor) govern(now int64, speed, stick float64) (out float64) {
	runs := 1.0
	if g.p.aged() {
		runs = math.Ceil(1 / (g.p.FrameRate * finest))
	}
	step := 1 / (g.p.FrameRate * runs)
	for left := runs - 1; left >= 0; left-- {
		if g.p.aged() {
			speed = g.p.engine(g.meter.heard.rate(float64(now)-(left*step+g.p.DeadTime)*g.p.TickRate, g.p.DeadTurns*float64(g.p.PulsesPerTurn)))
		}
		g.set = math.Min(g.set+g.p.SpoolRate*step, g.setting())
		out = g.law.run(&g.p, g.set, speed, stick, step)
	}
	return out
}

// setting is the speed that is dialled, stored, or asked for by the select line.
func (g *Governor) setting() float64 {
	var speed float64
	switch {
	case g.p.Dialled > 0:
		speed = g.p.Dialled
	case len(g.p.Stored) > 0:
		speed = g.stored()
	default:
		share := 0.0
		if g.sel.width > 0 {
			share = (float64(g.sel.width)/g.p.TickRate - g.p.SelectLow) / (g.p.SelectHigh - g.p.SelectLow)
		}
		speed = g.p.SpeedLow + math.Max(0, math.Min(1, share))*(g.p.SpeedHigh-g.p.SpeedLow)
	}
	if g.p.SpeedStep > 0 {
		speed = math.Round(speed/g.p.SpeedStep) * g.p.SpeedStep
	}
	return speed
}

// stored is the speed that the select pulse picks; the first while none has come.
func (g *Governor) stored() float64 {
	best, width := g.p.Stored[0], float64(g.sel.width)/g.p.TickRate
	for _, s := range g.p.Stored {
		if width > 0 && math.Abs(s.Width-width) < math.Abs(best.Width-width) {
			best = s
		}
	}
	return best.Speed
}

// stickLoss is how long the stick line usually may be silent, s (common practice,
// no source); then the stick counts as low.
const stickLoss = 0.4

// stickShare is the stick as a share of the throttle travel, 0 while no pulse
// has come, or none any more.
func (g *Governor) stickShare(now int64) float64 {
	silent := float64(now-g.stick.fall) / g.p.TickRate
	if g.stick.width == 0 || !g.p.StickKept && silent > cmp.Or(g.p.StickLoss, stickLoss) {
		return 0
	}
	share := (float64(g.stick.width)/g.p.TickRate - g.p.ThrottleClosed) / (g.p.ThrottleOpen - g.p.ThrottleClosed)
	return math.Max(0, math.Min(1, share))
}
