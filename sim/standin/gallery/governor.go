package gallery

import (
	"math"

	"govrig/sim/standin/governor"
)

// Governor is one of the gallery, switched on.
type Governor struct {
	w Wiring
	p parts

	stick, selected servoLine
	out             output
	begun           int64 // when it was switched on
	ran             int64 // times the law has run since
	dark            int64 // no edge is heard and no pulse sent before then

	newest                    int64 // counted pickup pulse
	unlocked, engaged, failed bool
	share                     float64 // of the throttle travel that it orders
	set                       float64 // the set speed on its way up
}

func newGovernor(w Wiring, p parts, start int64) *Governor {
	g := &Governor{w: w, p: p, out: newOutput(&p, w.TickRate, start)}
	g.begin(start)
	return g
}

// begin forgets everything at a tick.
func (g *Governor) begin(tick int64) {
	g.stick, g.selected = servoLine{fall: tick}, servoLine{}
	g.begun, g.dark, g.newest, g.ran = tick, tick, tick, 0
	g.unlocked, g.engaged, g.failed, g.share = !g.p.lockout, false, false, 0
	g.p.gate.reset()
	g.p.trust.reset()
	g.p.filter.reset()
}

// Restart switches it off and, after off seconds, on.
func (g *Governor) Restart(off float64) {
	g.begin(g.out.next + int64(off*g.w.TickRate))
}

// Turn turns its gain up by some clicks, of which two double it.
func (g *Governor) Turn(clicks float64) {
	if g.p.law != nil {
		g.p.law.scale(math.Exp2(clicks / 2))
	}
}

// Edge takes in an edge of a line.
func (g *Governor) Edge(line governor.Line, tick int64, high bool) {
	if tick < g.dark {
		return
	}
	g.runTo(tick)
	switch line {
	case governor.Pickup:
		if at, ok := g.p.gate.edge(tick, high != g.w.PickupLow); ok {
			g.newest = at
			if interval, ok := g.p.trust.pulse(at, g.engaged); ok {
				g.p.filter.add(interval)
			}
		}
	case governor.Stick:
		g.stick.edge(tick, high)
	case governor.Select:
		g.selected.edge(tick, high)
	}
}

// NextFrame is the tick of the next throttle pulse.
func (g *Governor) NextFrame() int64 { return g.out.next }

// Frame begins that pulse.
func (g *Governor) Frame() (rise, width int64) {
	rise = g.out.next
	if rise >= g.dark {
		g.runTo(rise)
		if g.p.loop == 0 {
			g.share = g.control(rise)
		}
		width = g.out.width((g.w.Closed + g.share*(g.w.Open-g.w.Closed)) * g.w.TickRate)
	}
	g.out.place()
	return rise, width
}

// runTo runs the law at every moment of its own that is due by tick.
func (g *Governor) runTo(tick int64) {
	if g.p.loop == 0 {
		return
	}
	for {
		at := g.begun + int64(math.Round(float64(g.ran+1)*g.p.loop*g.w.TickRate))
		if at > tick {
			return
		}
		g.ran++
		g.share = g.control(at)
	}
}

// control is one run of the governor at a tick: the share of throttle to order.
func (g *Governor) control(now int64) float64 {
	if g.stickLost(now) && g.p.onStickLoss == Opens {
		return 1
	}
	stick := g.stickShare(now)
	if g.p.law == nil {
		return stick
	}
	g.unlocked = g.unlocked || (stick < g.p.off && g.stick.width > 0)
	switch {
	case !g.unlocked:
		return 0
	case stick < g.p.off || (!g.engaged && !g.failed && stick < g.p.on):
		g.engaged, g.failed = false, false
		return stick
	}
	if g.lost(now) {
		return g.react(now, stick)
	}
	speed := g.speed()
	if speed == 0 && g.engaged {
		return g.share // it measures anew
	}
	if !g.engaged && speed < g.p.least {
		return stick
	}
	if !g.engaged {
		g.engaged, g.set = true, speed
		g.p.law.start(g.share, speed)
	}
	return g.govern(speed, stick)
}

// govern runs the law, the set speed on its way up.
func (g *Governor) govern(speed, stick float64) float64 {
	g.set = min(g.set+g.p.spool*g.p.period(), g.p.setting(&g.w, float64(g.selected.width)/g.w.TickRate))
	return min(max(g.p.law.run(g.set, speed, stick), 0), g.p.most)
}

// stickShare is where the stick stands; without pulses for too long, down.
func (g *Governor) stickShare(now int64) float64 {
	if g.stick.width == 0 || g.stickLost(now) {
		return 0
	}
	return g.w.share(float64(g.stick.width) / g.w.TickRate)
}

// stickLost reports whether stick pulses came, and have not for too long.
func (g *Governor) stickLost(now int64) bool {
	return g.stick.width > 0 && g.p.stickLoss > 0 && float64(g.stick.silent(now)) > g.p.stickLoss*g.w.TickRate
}

// speed is the engine's as the governor has it, rad/s.
func (g *Governor) speed() float64 {
	return 2 * math.Pi * g.w.TickRate * g.p.filter.rate() / (g.p.counts * float64(g.w.PulsesPerTurn))
}

// lost reports whether the pickup counts as failed. One that has failed stays so
// until the stick goes down, unless the governor only waits for it.
func (g *Governor) lost(now int64) bool {
	silent := float64(now-g.newest) > g.p.loss*g.w.TickRate
	if silent || g.p.trust.failing() {
		g.failed = true
		g.p.trust.reset()
		g.p.filter.reset()
	} else if g.p.onLoss != Closes {
		g.failed = false
	}
	return g.failed
}

// react is what a governor does whose pickup has failed.
func (g *Governor) react(now int64, stick float64) float64 {
	switch g.p.onLoss {
	case Opens:
		if !g.engaged {
			return g.share
		}
		return g.govern(0, stick) // as it has it, the engine stands
	case Holds:
		if g.p.patience > 0 && float64(now-g.newest) > g.p.patience*g.w.TickRate {
			return 1
		}
		return g.share
	}
	g.engaged = false
	if g.p.fall == 0 {
		return 0
	}
	return max(0, g.share-g.p.period()/g.p.fall)
}
