package gallery

import "math/cmplx"

// Reaction is what a governor does in a fault.
type Reaction string

// The reactions.
const (
	Rides     Reaction = "holds the speed"
	Closes    Reaction = "closes the throttle"
	Holds     Reaction = "leaves the throttle where it is"
	Opens     Reaction = "opens the throttle"
	HalfSpeed Reaction = "governs at half speed from then on"
	FullOpen  Reaction = "stays at full throttle"
	PassesOn  Reaction = "passes the stick through"
)

// Safe reports whether a reaction is safe where the sign of speed or stick is
// gone for good (only a closed throttle is), or where it comes back.
func (r Reaction) Safe(gone bool) bool { return r == Closes || (!gone && r == Rides) }

// Fault is what a governor that holds a speed does in a fault.
type Fault struct {
	Does Reaction
	// Closed is when the throttle is closed, s after the last good pulse, where
	// it closes.
	Closed float64
}

// Truth is what is true of a governor, by its own equations. SI units; speeds
// are those of the crankshaft, shares are of the throttle's or the stick's
// travel.
type Truth struct {
	Kind Kind
	// Governs is false for one that never has a say in the throttle.
	Governs bool
	// Hears is false for one that does not hear the usual pickup pulse.
	Hears bool
	// EngagesAt and DisengagesAt are shares of stick; EngagesAbove is the least
	// speed as it reads it, rad/s.
	EngagesAt, DisengagesAt, EngagesAbove float64
	// SpoolRate is that of the set speed, rad/s².
	SpoolRate float64
	// FrameRate is in throttle pulses a second, OutputStep in s; Jitter is the
	// most that a frame starts early or late, s, Dropped the share missing.
	FrameRate, OutputStep, Jitter, Dropped float64
	// Reads is the speed as it reads it over the true one: it holds the wanted
	// speed over Reads.
	Reads float64
	// Select is what the select line does, Settings into how many speeds; 0 is
	// without steps.
	Select   SelectKind
	Settings int
	// Linear is true of one with a response for small changes: Governor.Response.
	Linear bool
	// Gain is the proportional gain, share per rad/s, at the share asked for;
	// IntegralTime and DerivativeTime are in s, 0 is none; Delay is that of
	// measuring, of the wait for the law and for the frame, of half a frame and
	// of the pulse itself, s.
	Gain, IntegralTime, DerivativeTime, Delay float64
	// Droop is how much the speed falls, rad/s, as the throttle goes from closed
	// to open; 0 is none.
	Droop float64
	// DeadBand is its full width, rad/s.
	DeadBand float64
	// Opens is how far it opens the throttle at most, a share.
	Opens float64
	// Unbounded is true of one whose integral goes on at the ends.
	Unbounded bool

	PickupLost, Drift, MissingBursts, DoubledPulses, StickLost, SwitchedOnStickUp Fault
}

// Truth tells what is true of it, where it holds an engine speed, rad/s, with a
// throttle pulse, s.
func (g *Governor) Truth(kind Kind, speed, pulse float64) Truth {
	p := &g.p
	t := Truth{
		Kind: kind, Governs: p.law != nil, Hears: g.hears(),
		EngagesAt: p.on, DisengagesAt: p.off, EngagesAbove: p.least, SpoolRate: p.spool,
		FrameRate: p.frame, OutputStep: p.step, Jitter: p.jitter, Dropped: p.drop, Opens: p.most,
		Reads: p.reads(), Select: p.kind, Settings: p.settings,
	}
	share := g.w.share(pulse)
	switch l := p.law.(type) {
	case *deadBand:
		t.Gain, t.IntegralTime, t.DeadBand = l.k, l.ti, 2*l.half
	case *droop:
		t.Droop = 1 / l.k
	case *pi:
		t.Unbounded = l.unbounded
	}
	if l, ok := p.law.(linearLaw); ok && t.DeadBand == 0 {
		t.Linear = true
		t.Gain, t.IntegralTime, t.DerivativeTime = l.terms(share)
	}
	const slow = 1e-3 // rad/s
	t.Delay = -cmplx.Phase(g.lines(slow, speed, pulse)) / slow
	g.faults(&t)
	return t
}

// hears reports whether it hears the usual pulse, 500 µs of the right polarity.
func (g *Governor) hears() bool {
	switch gate := g.p.gate.(type) {
	case *wide:
		return float64(gate.least) <= 500e-6*g.w.TickRate
	case *inverted:
		return false
	}
	return true
}

// reads is the speed as it reads it over the true one.
func (p *parts) reads() float64 {
	if _, double := p.gate.(*both); double {
		return 2 / p.counts
	}
	return 1 / p.counts
}

func (g *Governor) faults(t *Truth) {
	p := &g.p
	t.StickLost = Fault{p.onStickLoss, p.stickLoss}
	if p.stickLoss == 0 {
		t.StickLost = Fault{Does: Rides}
	}
	t.SwitchedOnStickUp.Does = PassesOn
	if p.lockout {
		t.SwitchedOnStickUp.Does = Closes
	}
	if p.law == nil {
		for _, f := range []*Fault{&t.PickupLost, &t.Drift, &t.MissingBursts, &t.DoubledPulses} {
			f.Does = PassesOn
		}
		return
	}
	t.PickupLost = Fault{Does: p.onLoss}
	if p.onLoss == Closes {
		t.PickupLost.Closed = p.loss + p.fall
	}
	t.Drift, t.MissingBursts.Does, t.DoubledPulses.Does = t.PickupLost, Rides, Rides
	switch p.trust.(type) {
	case *locking:
		t.DoubledPulses.Does = HalfSpeed
	case *blanking:
		t.MissingBursts.Does = FullOpen
		t.Drift.Does = Opens
	case *plain:
		t.Drift.Does = Opens
	}
}
