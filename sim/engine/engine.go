// Package engine is a mean-value model of a small two-stroke engine with
// crankcase scavenging and a barrel carburettor.
//
// # Equations
//
// Torque from mean effective pressure (Heywood, Internal Combustion Engine
// Fundamentals, section 2.7, for two strokes, from memory), ω the crank speed:
//
//	T = p_b·V_d/2π,  p_b = p_i·c·ρ/ρ₀ − p_f
//	p_f = c0 + c1·ω + c2·ω²                       friction
//	p_i = p_max(1 − ((ω − ω_p)/ω_s)²) + p_f ≥ 0   indicated, full throttle
//
// so that at full throttle in standard air the brake pressure is the parabola
// through p_max at ω_p. ρ is the density of the dry air, as in the usual power
// corrections (ISO 1585, from memory). The relative charge c is that of the barrel's opening
// over that of the full opening at the same speed. The crankcase draws its
// displacement once a revolution through the effective area C·A; with the
// simplified compressible flow of Guzzella and Onder (Introduction to Modeling
// and Control of Internal Combustion Engine Systems, chapter 2, from memory),
// Ψ = √(2Π(1−Π)) but 1/√2 when Π < 1/2, the balance has the closed form
//
//	Π = 1/(1 + m²/2)  for m² ≤ 2,  1/(m√2)  beyond,
//	m = ω·V_d / (2π·C·A·√(RT)),  c = Π(opening)/Π(full)
//
// The charge follows c with the lag ChargeLag, then burns one Delay of crank
// angle later (reasoned: a crankcase-scavenged charge needs one revolution from
// the carburettor to the power stroke). Fuel follows air with MixtureLag; while
// the two differ, with relative error e = (fuel − air)/max(fuel, air), the
// charge counts for 1 − MixtureLoss·e². Each revolution may draw its own factor
// on the indicated pressure, from a seeded generator that is part of the state.
//
// # Range of validity
//
// A mean over a revolution: no torque ripple within it. Warm, running, with the
// mixture set for the air of the day; power falls with density only. Below
// StallSpeed the engine stops firing for good; nothing here starts it again.
package engine

import "govrig/sim/air"

// Engine is an engine in air of one kind. It is a plain value: a copy goes on
// as the original would.
type Engine struct {
	curve
	charge lag
	fuel   lag
	line   delay
	chance chance
	stall  float64
	loss   float64
	// Running is false once the engine has stalled.
	Running bool
}

// New prepares an engine in the given air, for steps of dt seconds, stopped.
// The parameters must be valid.
func New(p Params, a air.State, dt float64) Engine {
	return Engine{
		curve:  newCurve(p, a),
		charge: newLag(p.ChargeLag, dt),
		fuel:   newLag(p.MixtureLag, dt),
		line:   newDelay(p.Delay),
		chance: newChance(p),
		stall:  p.StallSpeed,
		loss:   p.MixtureLoss,
	}
}

// Settle puts the engine into steady running at a barrel opening, 0 to 1, a
// crank speed, rad/s, and a crank angle, rad.
func (e *Engine) Settle(opening, speed, angle float64) {
	c := e.Charge(opening, speed)
	e.charge.settle(c)
	e.fuel.settle(c)
	e.line.settle(angle, c)
	e.chance.settle(angle)
	e.Running = true
}

// Step moves the engine by one step and gives its torque, N·m: negative when
// friction outweighs combustion. The arguments are those of the middle of the
// step: the barrel's opening, 0 to 1, the crank's speed, rad/s, and its angle
// since the start, rad, which must not fall from step to step.
func (e *Engine) Step(opening, speed, angle float64) float64 {
	air := e.charge.next(e.Charge(opening, speed))
	burnt := e.line.next(angle, e.burnable(air, e.fuel.next(air)))
	factor := e.chance.next(angle)
	if speed < e.stall {
		e.Running = false
	}
	if !e.Running {
		burnt = 0
	}
	return e.Torque(burnt*factor, speed)
}

// burnable is the part of the air that burns to effect.
func (e *Engine) burnable(air, fuel float64) float64 {
	most := max(air, fuel)
	if most <= 0 {
		return 0
	}
	wrong := (fuel - air) / most
	return air * (1 - e.loss*wrong*wrong)
}
