package gallery

import (
	"math"
	"math/cmplx"

	"govrig/sim/heli"
)

// Margins are the least stability margins of a loop: Phase in degrees, Gain in
// dB, each +Inf where the loop never gets there, and Crossover the highest
// frequency with a gain of 1, rad/s.
type Margins struct{ Phase, Gain, Crossover float64 }

// least takes of each the lesser.
func (m Margins) least(n Margins) Margins {
	return Margins{min(m.Phase, n.Phase), min(m.Gain, n.Gain), min(m.Crossover, n.Crossover)}
}

var endless = Margins{math.Inf(1), math.Inf(1), math.Inf(1)}

// sampled is a loop without the minus sign of its summing point, densely enough
// for one of a delay and a few lags.
type sampled struct{ omega, loop []complex128 }

func sample(loop func(omega float64) complex128, low, high float64) (s sampled) {
	const perDecade = 300
	n := int(math.Log10(high/low) * perDecade)
	for i := range n + 1 {
		omega := low * math.Pow(high/low, float64(i)/float64(n))
		s.omega, s.loop = append(s.omega, complex(omega, 0)), append(s.loop, loop(omega))
	}
	return s
}

// margins are those of the loop times a factor, by straight lines between the
// samples.
func (s *sampled) margins(factor float64) Margins {
	m := Margins{Phase: math.Inf(1), Gain: math.Inf(1)}
	k := complex(factor, 0)
	for i := 1; i < len(s.loop); i++ {
		before, now := k*s.loop[i-1], k*s.loop[i]
		if a, b := cmplx.Abs(before)-1, cmplx.Abs(now)-1; a*b <= 0 && a != b {
			x := complex(a/(a-b), 0)
			m.Phase = min(m.Phase, cmplx.Phase(-(before+x*(now-before)))*180/math.Pi)
			m.Crossover = real(s.omega[i-1] + x*(s.omega[i]-s.omega[i-1]))
		}
		if a, b := imag(before), imag(now); a*b <= 0 && a != b && real(now) < 0 && real(before) < 0 {
			x := complex(a/(a-b), 0)
			m.Gain = min(m.Gain, -20*math.Log10(cmplx.Abs(before+x*(now-before))))
		}
	}
	return m
}

// loop is its loop with a machine about a trim; ok is false where it has no
// response.
func (g *Governor) loop(l *heli.Linear) (s sampled, ok bool) {
	if _, ok = g.Response(1, l.EngineSpeed, l.ThrottlePulse); !ok {
		return s, false
	}
	return sample(func(omega float64) complex128 {
		h, _ := g.Response(omega, l.EngineSpeed, l.ThrottlePulse)
		return -h * l.Response(complex(0, omega))
	}, 0.01, math.Pi*g.p.frame), true
}

// Margins are those of its loop with a machine about a trim; ok is false where
// it has no response.
func (g *Governor) Margins(l *heli.Linear) (m Margins, ok bool) {
	s, ok := g.loop(l)
	if !ok {
		return m, false
	}
	return s.margins(1), true
}
