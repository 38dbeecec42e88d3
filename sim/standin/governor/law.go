package governor

import "math"

// law is what governs, from speeds to a share of throttle:
//
//	u = c·s + I + K(u)·e + D,   K(u) = K·(1 + r·u),   e = set speed − measured speed,
//	İ = K(u)/Ti·e,   Tf·Ḋ + D = −K(u)·Td·dy/dt,   Tm·dy/dt + y = speed,
//
// with c·s the feed-forward of the stick. In its simplest form, u = I + K·e, it is
// PI. The integral is held while the output is at an end (conditional integration;
// Åström and Hägglund, PID Controllers, 1995, section 3.5, from memory); the
// derivative is one of the measured speed, by backward differences (there, section
// 3.6, from memory).
type law struct {
	integral   float64 // share of throttle travel
	derivative float64 // the same
	seen       float64 // the measured speed behind its lag, rad/s
	before     float64 // and in the step before
	output     float64 // share of throttle travel
}

// start begins at a share of throttle and a speed, without a jump.
func (l *law) start(p *Params, share, speed, stick float64) {
	*l = law{integral: share - p.FeedForward*stick, seen: speed, before: speed, output: share}
}

// run is one step of a length, s.
func (l *law) run(p *Params, set, speed, stick, step float64) float64 {
	l.measure(p, speed, step)
	e := beyond(set-l.seen, p.DeadBand)
	gain := p.Gain * (1 + p.GainRise*l.output)
	if p.DerivativeTime > 0 {
		l.derivative = (p.DerivativeLag*l.derivative - gain*p.DerivativeTime*(l.seen-l.before)) / (p.DerivativeLag + step)
	}
	out := l.integral + gain*e + l.derivative + p.FeedForward*stick
	ends := !p.WindUp && ((out >= 1 && e > 0) || (out <= 0 && e < 0))
	if !ends && p.IntegralTime > 0 {
		l.integral += gain / p.IntegralTime * e * step
	}
	l.output = math.Max(0, math.Min(1, out))
	return l.output
}

// measure takes in a speed, through the lag.
func (l *law) measure(p *Params, speed, step float64) {
	l.before = l.seen
	if p.MeasureLag == 0 {
		l.seen = speed
		return
	}
	l.seen += (speed - l.seen) * -math.Expm1(-step/p.MeasureLag)
}

// beyond is what of an error lies beyond a dead band, half of which is given.
func beyond(e, half float64) float64 {
	if math.Abs(e) <= half {
		return 0
	}
	return e - math.Copysign(half, e)
}

// finest is the longest step of a law that runs in small steps, s: short beside all
// that a speed loop of an engine does (8 Hz, where the sines of a sweep end, is a
// period of 125 ms).
const finest = 1e-3

// aged is set for a law that sees a speed of a known age.
func (p *Params) aged() bool { return p.DeadTime > 0 || p.DeadTurns > 0 }

// engine is the crankshaft's speed, rad/s, as read from pulses per tick.
func (p *Params) engine(perTick float64) float64 {
	if p.BothEdges {
		perTick *= 2
	}
	return perTick / float64(p.PulsesPerTurn) * 2 * math.Pi * p.TickRate
}
