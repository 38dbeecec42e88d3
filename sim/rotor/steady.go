package rotor

import "math"

// Performance is a steady state of hover or climb.
type Performance struct {
	// Inflow is the mean induced velocity v, m/s.
	Inflow float64
	// Thrust in N.
	Thrust float64
	// Torque asked of the main shaft, with the tail's share, N·m.
	Torque float64
	// Power asked of the main shaft, with the tail's share, W.
	Power float64
}

// Steady gives the performance when the inflow has settled, for a speed,
// rad/s, collective, rad, and climb, m/s, down to about −1.5v_h. The induced
// velocity is the root of thrust = 2ρAv(V_c+v), a quadratic that has a closed
// form also with κ and tip loss; in hover with κ = B = 1 it is Leishman's
// λ = σa/16·(√(1+64θ/3σa) − 1).
func (r *Rotor) Steady(speed, collective, climb float64) Performance {
	v := r.steadyInflow(speed, collective, climb)
	q := r.Torque(speed, collective, climb, v)
	return Performance{
		Inflow: v,
		Thrust: r.Thrust(speed, collective, climb, v),
		Torque: q,
		Power:  q * speed,
	}
}

func (r *Rotor) steadyInflow(speed, collective, climb float64) float64 {
	still := r.Thrust(speed, collective, climb, 0)
	if still < 0 { // thrust downwards is the mirror image
		return -r.steadyInflow(speed, -collective, -climb)
	}
	fall := still - r.Thrust(speed, collective, climb, 1) // of thrust per m/s of inflow
	b := r.disc*climb + fall
	return (math.Sqrt(b*b+4*r.disc*still) - b) / (2 * r.disc)
}

// CollectiveFor gives the collective, rad, at which a steady rotor makes the
// thrust, N, at a speed, rad/s, above zero and a climb, m/s. The thrust may be
// negative in hover only; the climb may not.
func (r *Rotor) CollectiveFor(thrust, speed, climb float64) float64 {
	half := climb / 2
	v := math.Sqrt(half*half+math.Abs(thrust)/r.disc) - half
	v = math.Copysign(v, thrust)
	u := speed * r.radius
	lift := 6 * thrust / (r.area * u)
	return (lift/r.lift + r.wash*(climb+r.induced*v)) / (r.pitch * u)
}

// TipSpeed is that of the blade tips, m/s.
func (r *Rotor) TipSpeed(speed float64) float64 { return speed * r.radius }

// Energy stored in a rotor of the given inertia, kg·m², at speed, rad/s: the
// kinetic energy Iω²/2, J.
func Energy(inertia, speed float64) float64 { return inertia * speed * speed / 2 }

// BladePull is the centrifugal force at the root of one blade, a uniform rod
// of mass kg and the given radius, m, at speed, rad/s: mω²R/2, N.
func BladePull(mass, radius, speed float64) float64 { return mass * speed * speed * radius / 2 }
