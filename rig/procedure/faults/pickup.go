package faults

import (
	"fmt"
	"math"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/phase"
)

// Pulses of the pickup, s.
const (
	usualWidth = 500e-6
	pulseGap   = 100e-6 // the least that the board leaves between two
)

// pulseWidth is that of the pickup pulses: the usual one, or where pulses come so
// tight that a stray one would touch those beside it, four fifths of the room.
func pulseWidth(g *governed.Governor) float64 {
	return math.Max(pulseGap, math.Min(usualWidth, 0.8*(g.Spacing()/2-pulseGap)))
}

// missing leaves out pulses, so many in a row and so many times.
func missing(name string, times int, pulses uint16) func(*faulting, *fault) (aftermath, error) {
	return func(f *faulting, x *fault) (aftermath, error) {
		var phases []rig.Phase
		for range times {
			p := f.g.Phase(during(name), 0.15)
			p.Faults = []protocol.Fault{{Kind: protocol.FaultDrop, Value: pulses}}
			phases = append(phases, p)
		}
		return f.play(x, name, during(name), phases...)
	}
}

// strays adds stray pulses half-way between two regular ones, so many times and
// so far apart, s.
func strays(name string, times int, apart float64) func(*faulting, *fault) (aftermath, error) {
	return func(f *faulting, x *fault) (aftermath, error) {
		half := f.g.Spacing() / 2
		if half < pulseWidth(f.g)+pulseGap {
			return aftermath{why: fmt.Sprintf("pulses %.2f ms apart leave the board no room for a stray one between them", 2e3*half)}, nil
		}
		var phases []rig.Phase
		for range times {
			p := f.g.Phase(during(name), apart)
			p.Faults = []protocol.Fault{{Kind: protocol.FaultStray, Value: uint16(math.Round(half * 1e6))}}
			phases = append(phases, p)
		}
		return f.play(x, name, during(name), phases...)
	}
}

// doubledTime is for how long pulses are doubled, s.
const doubledTime = 0.5

// doubling is how far apart the orders for doubled pulses are, s: one in every
// interval, or as many as the board takes.
func doubling(g *governed.Governor, baud int) float64 {
	return math.Max(frame(baud), g.Spacing()-execution.StepTime)
}

func (f *faulting) doubled(x *fault) (aftermath, error) {
	apart := doubling(f.g, f.t.Bench.Connection.Baud)
	return strays("doubled pulses", int(doubledTime/apart), apart)(f, x)
}

// doubledWhat says which pulses are doubled: every one, unless they come faster than
// they can be ordered.
func doubledWhat(g *governed.Governor, baud int) string {
	apart := doubling(g, baud)
	if apart > g.Spacing() {
		return fmt.Sprintf("%d stray pulses in half a second", int(doubledTime/apart))
	}
	return "every pulse doubled for half a second"
}

func (f *faulting) lost(x *fault) (aftermath, error) {
	const name = "pickup lost"
	return f.play(x, name, during(name), f.muted(x, during(name)))
}

// muted is a phase without pickup pulses, as long as is watched.
func (f *faulting) muted(x *fault, key phase.Key) rig.Phase {
	p := f.g.Phase(key, x.watched(f.own))
	p.Mute = true
	return p
}

// lostInLoadStep loses the pickup while the throttle is open against a load that
// has just come on, and takes the load off in that moment.
func (f *faulting) lostInLoadStep(x *fault) (aftermath, error) {
	const name = "pickup lost, load off"
	g, load := f.g, f.g.Machine.LoadStep
	ramp := float64(load.Ramp)
	const lightTime = 3.0
	light := g.Load(before("load off"), float64(load.CollectiveLow), ramp, lightTime)
	heavy := g.Load(before("load on"), float64(load.CollectiveHigh), ramp, ramp+0.2)
	g.Orders.Collective = float64(load.CollectiveLow)
	lost := f.muted(x, during(name))
	lost.Ramp = execution.Steps(ramp)
	part, _, err := f.t.Play(light, heavy, lost)
	return f.from(part, during(name), err)
}

// lostInSpoolUp loses the pickup when most of the spool-up is over.
func (f *faulting) lostInSpoolUp(x *fault) (aftermath, error) {
	const name = "pickup lost, spool-up"
	g := f.g
	if err := f.standing(); err != nil {
		return aftermath{}, err
	}
	idle := g.Phase(before("idle"), governed.IdleTime)
	g.Orders.Stick = f.up()
	part, _, err := f.t.Play(idle, g.Phase(before("spool-up"), 0.6*f.spool), f.muted(x, during(name)))
	s, err := f.from(part, during(name), err)
	if s.turns = s.event; err == nil && f.tooFast(x, &s) {
		s.why = "the engine was too fast on its way up already"
	}
	return s, err
}

// tooFast reports whether the engine was faster than it may be when the clock started.
func (f *faulting) tooFast(x *fault, s *aftermath) bool {
	before := s.part.EngineSpeed(0, len(s.part.Time)).Between(s.event-0.1, s.event)
	_, most := before.Extent()
	return 100*most/f.g.Declared() > x.highest.most
}

// from is what a played part shows, the clock starting at a phase.
func (f *faulting) from(part execution.Trace, at phase.Key, err error) (s aftermath, _ error) {
	if err == nil {
		s.part = part
		f.clock(&s, at)
	}
	return s, err
}

// driftTime is how long the drift takes from the first pulse missed to the
// last one felt, s.
const driftTime = 1.5

// drift is what a governor's input makes of an idle level that drifts toward or
// away from its threshold, warm sensor or falling supply: the peaks reach the
// threshold ever more seldom, then not at all. The share of pulses missing grows
// evenly with time; the clock starts when the last is gone. A governor that
// takes the missing pulses for a slow engine opens the throttle meanwhile.
func (f *faulting) drift(x *fault) (aftermath, error) {
	const name, gone = "idle level drifts", "no pulse felt any more"
	var phases []rig.Phase
	pulses, frame := driftTime/f.g.Spacing(), frame(f.t.Bench.Connection.Baud)
	// The n-th pulse missing is the one at which their share, integrated over
	// the pulses, comes to n: pulses·(t/T)²/2 = n. Orders come once a frame.
	for at, missed := 0.0, 0.0; ; {
		next := math.Max(driftTime*math.Sqrt(2*(missed+1)/pulses), at+frame)
		if next > driftTime {
			break
		}
		count := math.Floor(pulses*next*next/(2*driftTime*driftTime) + 1e-9)
		p := f.g.Phase(during(name), next-at)
		p.Faults = []protocol.Fault{{Kind: protocol.FaultDrop, Value: uint16(count - missed)}}
		phases = append(phases, p)
		at, missed = next, count
	}
	return f.play(x, name, during(gone), append(phases, f.muted(x, during(gone)))...)
}
