// Package rotor gives thrust and torque of a main rotor in hover and axial
// climb by blade-element theory with uniform inflow.
//
// # Equations
//
// With U = ΩR the tip speed, θ the collective (at 0.75 R for twisted blades),
// V = V_c + κv the flow through the disc and S = ρ·N_b·c·R:
//
//	w = a(B³θU − 3/2·B²V)
//	T = S·U·w/6                          thrust
//	Q = S·R·w·V/6 + S·R/8·(C_d0·U² + k·w²)   torque of the main rotor
//
// T is C_T = σa/2·(B³θ/3 − B²λ/2) of Leishman, Principles of Helicopter
// Aerodynamics, 2nd ed., section 3.3, with C_T = T/ρA(ΩR)²; w/U is the mean
// lift coefficient 6C_T/σ; Q·Ω is the power T·V with the induced factor κ,
// plus the profile power σC_d/8 with C_d = C_d0 + k(6C_T/σ)². The form of the
// polar is that of Knight and Hefner, NACA TN-626.
//
// The mean induced velocity v follows momentum theory with the apparent mass
// of Carpenter and Fridovich, NACA TN-3044 (from memory):
//
//	m·dv/dt = T − 2ρA·v·|V_c + v|,  m = InflowMass·8/3·ρR³
//
// so that after a step of collective the thrust leaps and then settles while
// the inflow builds, with a time constant of some tens of milliseconds.
//
// # Range of validity
//
// Hover and climb; descent to about 1.5 times the hover's induced velocity v_h;
// and, from the windmill state on, descent beyond 2v_h. Between, the wake turns
// back into the disc, and no momentum theory holds.
// Collective within ±15°, mean lift coefficient below about 1 (stall is not
// modelled), tip Mach number below about 0.6 (drag rise is not modelled).
package rotor

import "math"

// Rotor is a rotor in air of one density. It is a plain value without state.
type Rotor struct {
	radius, inertia    float64
	area               float64 // blade area times density, kg/m
	lift, pitch, wash  float64 // a, B³, 3/2·B²
	dragZero, dragLift float64
	induced            float64 // κ
	disc               float64 // 2ρA, kg/m
	perMass            float64 // 1/m of the inflow's apparent mass, 1/kg
	tail               float64
}

// New prepares a rotor in air of the given density, kg/m³. The parameters must
// be valid.
func New(p Params, density float64) Rotor {
	b := p.TipLoss
	return Rotor{
		radius:   p.Radius,
		inertia:  p.Inertia,
		area:     density * float64(p.Blades) * p.Chord * p.Radius,
		lift:     p.LiftSlope,
		pitch:    b * b * b,
		wash:     1.5 * b * b,
		dragZero: p.DragZero,
		dragLift: p.DragLift,
		induced:  p.InducedFactor,
		disc:     2 * density * math.Pi * p.Radius * p.Radius,
		perMass:  1 / (p.InflowMass * 8 / 3 * density * p.Radius * p.Radius * p.Radius),
		tail:     p.TailShare,
	}
}

// Inertia is the polar moment about the main shaft, kg·m².
func (r *Rotor) Inertia() float64 { return r.inertia }

// Thrust at a shaft speed (rad/s, not negative), collective (rad), climb (m/s)
// and mean induced velocity (m/s), N.
func (r *Rotor) Thrust(speed, collective, climb, inflow float64) float64 {
	u := speed * r.radius
	return r.area * u * r.meanLift(u, collective, climb+r.induced*inflow) / 6
}

// Torque asked of the main shaft, with the tail rotor's share, N·m. In
// autorotation it is negative: the air drives the rotor. The tail adds its
// share only to torque that the machine must be held against.
func (r *Rotor) Torque(speed, collective, climb, inflow float64) float64 {
	u := speed * r.radius
	flow := climb + r.induced*inflow
	w := r.meanLift(u, collective, flow)
	q := r.area * r.radius * (w*flow/6 + (r.dragZero*u*u+r.dragLift*w*w)/8)
	if q > 0 {
		q *= 1 + r.tail
	}
	return q
}

// meanLift is the mean lift coefficient times the tip speed u, m/s.
func (r *Rotor) meanLift(u, collective, flow float64) float64 {
	return r.lift * (r.pitch*collective*u - r.wash*flow)
}

// InflowRate is the acceleration of the mean induced velocity, m/s².
func (r *Rotor) InflowRate(speed, collective, climb, inflow float64) float64 {
	thrust := r.Thrust(speed, collective, climb, inflow)
	return (thrust - r.disc*inflow*math.Abs(climb+inflow)) * r.perMass
}

// NextInflow moves the mean induced velocity over a step of dt seconds in
// which the other arguments hold. The method is the linearly implicit midpoint
// rule: second order, and stable however fast the inflow is.
func (r *Rotor) NextInflow(speed, collective, climb, inflow, dt float64) float64 {
	through := climb + inflow
	stream := math.Abs(through)
	slope := -r.area*speed*r.radius*r.lift*r.wash*r.induced/6 -
		r.disc*(stream+math.Copysign(inflow, inflow*through))
	rate := r.InflowRate(speed, collective, climb, inflow)
	return inflow + dt*rate/(1-dt/2*min(slope*r.perMass, 0))
}
