package response

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Lines come in the order of their frequencies; one that was played twice is the mean
// by the power that was put in, and as much surer (the weighted mean of any text-book
// of statistics).
func TestJoin(t *testing.T) {
	a := []Point{{Frequency: 1, H: 1, Input: 1, Periods: 4, GainError: 0.04, PhaseError: 4}, {Frequency: 4, H: 4}}
	b := []Point{{Frequency: 1, H: 2, Input: 2, Periods: 3, GainError: 0.02, PhaseError: 2, Usable: true}, {Frequency: 2, H: 3}, {Frequency: 9, H: 5}}
	all := Join(a, b)
	require.Len(t, all, 4)
	for i, f := range []float64{1, 2, 4, 9} {
		require.Equal(t, f, all[i].Frequency)
	}
	require.InDelta(t, 0.25*1+0.75*2, real(all[0].H), 1e-12)
	require.InDelta(t, math.Hypot(0.25*0.04, 0.75*0.02), all[0].GainError, 1e-12)
	require.Equal(t, 7, all[0].Periods)
	require.True(t, all[0].Usable)
	require.Equal(t, complex(1, 0), a[0].H, "what it was given stands")
}

// A tilted excitation has the same root mean square, amplitudes that fall as the
// frequency to the power asked for, and a crest that Schroeder's phases keep below
// three.
func TestTilted(t *testing.T) {
	m, err := NewMultisine(8, Harmonics(8, 0.25, 8, 14), 2)
	require.NoError(t, err)
	tilted := m.Tilted(0.5)
	power := func(m Multisine) (sum float64) {
		for _, l := range m.Lines {
			sum += l.Amplitude * l.Amplitude / 2
		}
		return sum
	}
	require.InEpsilon(t, power(m), power(tilted), 1e-12)
	for _, l := range tilted.Lines {
		first := tilted.Lines[0]
		require.InEpsilon(t, first.Amplitude*math.Sqrt(float64(first.Harmonic)/float64(l.Harmonic)), l.Amplitude, 1e-12)
	}
	require.Less(t, tilted.Peak()/math.Sqrt(power(tilted)), 3.0)
	even := m.Tilted(0)
	for k := range m.Lines {
		require.InDelta(t, 0, math.Remainder(m.Lines[k].Phase-even.Lines[k].Phase-(m.Lines[1].Phase-even.Lines[1].Phase)*float64(k), 2*math.Pi), 1e-9)
	}
}

// Between lines a third of an octave apart a dead time bends the phase; the curve
// through them follows it to a third of a degree, where a straight line over ln ω
// would be off by (ωT)·(ln 1.3)²/8, here up to 1.3°.
func TestBetweenTheLines(t *testing.T) {
	const dead = 0.05
	var points []Point
	for f := 0.25; f < 12; f *= 1.3 {
		w := 2 * math.Pi * f
		points = append(points, Point{Frequency: f, H: complex(-math.Cos(w*dead), math.Sin(w*dead)), Usable: true})
	}
	m, err := WithPlant(points, func(float64) complex128 { return 1 })
	require.NoError(t, err)
	for f := 0.4; f < 8; f *= 1.03 {
		w := 2 * math.Pi * f
		got := m.Loop(w)
		require.InDelta(t, 0, math.Remainder(math.Atan2(imag(got), real(got))+w*dead, 2*math.Pi)*180/math.Pi, 0.35, "%.2f Hz", f)
	}
}
