package pickup

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

var d4l2 = Magnet{Diameter: 0.004, Length: 0.002, Remanence: 1.2}

// A magnet maker's page for a cylinder of Br 1.32 T with L/D 1/4 prints 295.2
// mT at the pole face and 171.5 mT at the distance entered (machinecalcs'
// default; the distance, half a radius, is inferred).
func TestOnAxisPublished(t *testing.T) {
	m := Magnet{Diameter: 0.008, Length: 0.002, Remanence: 1.32}
	require.InDelta(t, 0.2952, m.OnAxis(0), 5e-5)
	require.InDelta(t, 0.1715, m.OnAxis(0.002), 5e-5)
	require.InDelta(t, 0.5811, m.OnAxis(0.002)/m.OnAxis(0), 5e-5)
}

// Own computation by the formula and by summing charge sheets, to its digits.
func TestOnAxisTable(t *testing.T) {
	d5l2 := Magnet{Diameter: 0.005, Length: 0.002, Remanence: 1.2}
	cases := map[Magnet][5]float64{
		d4l2: {424.2641, 230.9020, 112.3922, 57.8558, 19.8284},
		d5l2: {374.8170, 238.0984, 133.9820, 75.7235, 28.3888},
	}
	for m, want := range cases {
		for i, z := range []float64{0, 0.001, 0.002, 0.003, 0.005} {
			require.InDelta(t, want[i], 1000*m.OnAxis(z), 5e-5)
		}
	}
}

// A wafer of a magnet is a current loop of Br·L/μ0. The field on the axis of a
// loop of 1 m and 1 kA at 0, 1, 2 and 3 m is in the tests of magpylib, which
// take it from the HyperPhysics pages.
func TestWaferIsACurrentLoop(t *testing.T) {
	const thin = 1e-4
	loop := Magnet{Diameter: 2, Length: thin, Remanence: mu0 * 1000 / thin}
	for z, want := range []float64{6.283185e-4, 2.221441e-4, 5.619852e-5, 1.986918e-5} {
		require.InEpsilon(t, want, loop.OnAxis(float64(z)-thin/2), 1e-6)
		_, axial := loop.Field(1e-9, float64(z))
		require.InEpsilon(t, want, axial, 1e-6)
	}
}

// D4×L2, Br 1.2, 1.5 mm in front of the pole face, by numerical integration
// over the charge sheets (own computation).
func TestOffAxisTable(t *testing.T) {
	axial := []float64{160.94589, 138.51400, 74.50582, 18.81045}
	radial := []float64{0, 55.33455, 81.49279, 59.93900}
	for i := range axial {
		r, a := d4l2.Field(float64(i)*1e-3, 0.0015+0.001)
		require.InDelta(t, axial[i], 1000*a, 1e-4)
		require.InDelta(t, radial[i], 1000*r, 1e-4)
	}
}

func TestFieldMeetsTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMagnet(t)
		z := rapid.Float64Range(0.0001, 0.03).Draw(t, "z")
		radial, axial := m.Field(0, z+m.Length/2)
		require.InEpsilon(t, m.OnAxis(z), axial, 1e-9)
		require.InDelta(t, 0, radial, 1e-12)
	})
}

// The pole faces as sheets of magnetic charge, summed by Gauss-Legendre
// quadrature: Coulomb's law, and a way of its own to the same field.
func TestFieldAgainstChargeSheets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := anyMagnet(t)
		rho := rapid.Float64Range(0, 2).Draw(t, "rho") * m.Diameter
		z := m.Length/2 + rapid.Float64Range(0.3, 2).Draw(t, "z")*m.Diameter
		r1, a1 := sheet(m, rho, z-m.Length/2)
		r2, a2 := sheet(m, rho, z+m.Length/2)
		radial, axial := m.Field(rho, z)
		peak := m.OnAxis(z - m.Length/2)
		require.InDelta(t, r1-r2, radial, 1e-6*peak)
		require.InDelta(t, a1-a2, axial, 1e-6*peak)
	})
}

func sheet(m Magnet, rho, z float64) (radial, axial float64) {
	part := func(value func(x, y, cube float64) float64) float64 {
		ring := func(s float64) float64 {
			return s * quad.Fixed(func(phi float64) float64 {
				x, y := rho-s*math.Cos(phi), s*math.Sin(phi)
				return value(x, y, math.Pow(x*x+y*y+z*z, 1.5))
			}, 0, 2*math.Pi, 60, quad.Legendre{}, 1)
		}
		return m.Remanence / (4 * math.Pi) * quad.Fixed(ring, 0, m.Diameter/2, 20, quad.Legendre{}, 1)
	}
	radial = part(func(x, _, cube float64) float64 { return x / cube })
	axial = part(func(_, _, cube float64) float64 { return z / cube })
	return radial, axial
}

// With c = s = p = 1 Bulirsch's integral is Legendre's K, with s = kc² it is E:
// gonum's own are the reference. Its argument 1 − kc² has lost 6 of 16 digits
// at the low end of kc.
func TestCelAgainstLegendre(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kc := rapid.Float64Range(1e-3, 1).Draw(t, "kc")
		require.InEpsilon(t, mathext.CompleteK(1-kc*kc), cel(kc, 1, 1, 1), 1e-10)
		require.InEpsilon(t, mathext.CompleteE(1-kc*kc), cel(kc, 1, 1, kc*kc), 1e-10)
	})
}

// The third kind, for which gonum has nothing, by quadrature of its definition.
func TestCelThirdKind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kc := rapid.Float64Range(0.2, 1).Draw(t, "kc")
		p := rapid.Float64Range(0.1, 2).Draw(t, "p")
		s := rapid.Float64Range(-1, 1).Draw(t, "s")
		want := quad.Fixed(func(phi float64) float64 {
			c2, s2 := math.Pow(math.Cos(phi), 2), math.Pow(math.Sin(phi), 2)
			return (c2 + s*s2) / ((c2 + p*s2) * math.Sqrt(c2+kc*kc*s2))
		}, 0, math.Pi/2, 200, quad.Legendre{}, 1)
		require.InDelta(t, want, cel(kc, p, 1, s), 1e-10)
	})
}

// m = Br·V/μ0; 10 mm from the centre of D4×L2 the dipole says 4.800 and the
// exact form 4.6097 mT (own computation).
func TestDipoleLimit(t *testing.T) {
	require.InDelta(t, 0.024000, d4l2.Moment(), 5e-7)
	_, near := Dipole(d4l2.Moment(), 0, 0.010)
	require.InDelta(t, 4.800, 1000*near, 5e-4)
	require.InDelta(t, 4.6097, 1000*d4l2.OnAxis(0.009), 5e-5)
	for _, angle := range []float64{0.1, 0.7, 1.2} {
		sin, cos := math.Sincos(angle)
		r, a := d4l2.Field(0.4*sin, 0.4*cos)
		rd, ad := Dipole(d4l2.Moment(), 0.4*sin, 0.4*cos)
		size := math.Hypot(rd, ad)
		require.InDelta(t, rd, r, 1e-4*size)
		require.InDelta(t, ad, a, 1e-4*size)
	}
}

func anyMagnet(t *rapid.T) Magnet {
	return Magnet{
		Diameter:  rapid.Float64Range(0.002, 0.010).Draw(t, "diameter"),
		Length:    rapid.Float64Range(0.001, 0.010).Draw(t, "length"),
		Remanence: rapid.Float64Range(0.3, 1.4).Draw(t, "remanence"),
	}
}

func BenchmarkField(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		d4l2.Field(0.001, 0.003)
	}
}
