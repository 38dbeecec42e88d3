package pickup

import "math"

type vector [3]float64

func (a vector) dot(b vector) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (a vector) minus(b vector, scale float64) vector {
	return vector{a[0] - b[0]*scale, a[1] - b[1]*scale, a[2] - b[2]*scale}
}

// magnet is one magnet near the sensor.
type magnet struct {
	angle float64 // the turn at which it passes the sensor, rad
	sign  float64 // +1 north pole along its axis' positive direction, or -1
}

// pass is the geometry of the magnets passing the sensor, with the shaft along
// the third axis and the sensor at turn angle 0.
type pass struct {
	p       Params
	element vector // where the sensing element is
	face    vector // out of the branded face
	magnets []magnet
}

func newPass(p Params) *pass {
	s := &pass{p: p}
	away := p.Gap + p.Sensor.Depth + p.Magnet.reach(p.Axis)
	if p.Placement == Rim {
		s.element = vector{p.Radius + away, 0, p.Offset}
	} else {
		s.element = vector{p.Radius + p.Offset, 0, away}
	}
	s.face = direction(p.Placement, p.Sensor.Normal, 0)
	if (p.Sensor.Normal == Gapwise) != p.Sensor.Back {
		s.face = vector{}.minus(s.face, 1)
	}
	s.magnets = neighbours(p)
	return s
}

// reach is how far the magnet's body extends from its centre toward the sensor.
func (m Magnet) reach(axis Direction) float64 {
	if axis == Gapwise {
		return m.Length / 2
	}
	return m.Diameter / 2
}

// neighbours are the magnets that count: those of one period of the pattern
// and two more on either side. Others are at least two pitches away, where a
// field that falls with the cube is nothing.
func neighbours(p Params) []magnet {
	first, last := -2, 2
	if p.Pattern == Alternating {
		last = 3
	}
	if last-first+1 > p.Count {
		first, last = 0, p.Count-1
	}
	pole := 1.0
	if p.Pole == South {
		pole = -1
	}
	var all []magnet
	for i := first; i <= last; i++ {
		sign := pole
		if p.Pattern == Alternating && i%2 != 0 {
			sign = -pole
		}
		all = append(all, magnet{angle: float64(i) * p.pitch(), sign: sign})
	}
	return all
}

// pitch is the angle from one magnet to the next, rad.
func (p Params) pitch() float64 { return 2 * math.Pi / float64(p.Count) }

// repeats is how often the polarity pattern comes round in a turn.
func (p Params) repeats() int {
	if p.Pattern == Alternating {
		return p.Count / 2
	}
	return p.Count
}

// direction is the unit vector of d for something at a turn angle.
func direction(at Placement, d Direction, angle float64) vector {
	sin, cos := math.Sincos(angle)
	outward, along := vector{cos, sin, 0}, vector{0, 0, 1}
	switch {
	case d == Travelwise:
		return vector{-sin, cos, 0}
	case (d == Gapwise) == (at == Rim):
		return outward
	}
	return along
}

// field is what the sensor feels, in T, with the shaft turned by angle:
// positive as a south pole at the branded face.
func (s *pass) field(angle float64) float64 {
	sum := 0.0
	for _, m := range s.magnets {
		sum += m.sign * s.one(angle-m.angle)
	}
	return sum
}

// one is the field of a magnet at an angle, its north pole along the positive
// direction of its axis.
func (s *pass) one(angle float64) float64 {
	sin, cos := math.Sincos(angle)
	axis := direction(s.p.Placement, s.p.Axis, angle)
	to := s.element.minus(vector{cos, sin, 0}, s.p.Radius)
	z := to.dot(axis)
	out := to.minus(axis, z)
	rho := math.Sqrt(out.dot(out))
	radial, axial := s.p.Magnet.Field(rho, z)
	felt := axial * axis.dot(s.face)
	if rho > 0 {
		felt += radial / rho * out.dot(s.face)
	}
	return felt
}
