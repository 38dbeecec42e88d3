package pickup

import "math"

// mu0 is the magnetic constant in T·m/A, CODATA 2018 to the digits that
// matter here.
const mu0 = 1.25663706212e-6

// OnAxis is the field in T on the magnet's axis, z metres in front of its pole
// face.
func (m Magnet) OnAxis(z float64) float64 {
	r, far := m.Diameter/2, z+m.Length
	return m.Remanence / 2 * (far/math.Hypot(r, far) - z/math.Hypot(r, z))
}

// Moment is the dipole moment in A·m².
func (m Magnet) Moment() float64 {
	return m.Remanence * math.Pi / 4 * m.Diameter * m.Diameter * m.Length / mu0
}

// Field is the field in T at rho metres from the magnet's axis and z along it
// from the magnet's centre: the parts away from the axis and along it. z is
// positive on the side of the north pole. It is infinite on the rim itself.
func (m Magnet) Field(rho, z float64) (radial, axial float64) {
	r := m.Diameter / 2
	if math.Abs(rho-r) < 1e-9*r {
		rho = r * (1 + 1e-9) // cel does not take γ = 0; the field is smooth here
	}
	r1, a1 := loops(r, rho, z+m.Length/2)
	r2, a2 := loops(r, rho, z-m.Length/2)
	scale := m.Remanence / math.Pi
	return scale * (r1 - r2), scale * r / (r + rho) * (a1 - a2)
}

// loops is one end's share of a solenoid's field, without Br/π.
func loops(r, rho, z float64) (radial, axial float64) {
	far := math.Hypot(z, r+rho)
	k := math.Hypot(z, r-rho) / far
	gamma := (r - rho) / (r + rho)
	return r / far * cel(k, 1, 1, -1), z / far * cel(k, gamma*gamma, 1, gamma)
}

// Dipole is the field in T of a point dipole of moment A·m², at rho from its
// axis and z along it: the far limit of Field.
func Dipole(moment, rho, z float64) (radial, axial float64) {
	square := rho*rho + z*z
	scale := mu0 * moment / (4 * math.Pi * square * square * math.Sqrt(square))
	return scale * 3 * rho * z, scale * (2*z*z - rho*rho)
}
