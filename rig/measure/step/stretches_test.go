package step

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
)

// wave is a speed of known mean and extent: a sine of ten whole periods.
func wave(from, to, mean, amplitude float64) (s measure.Series) {
	for t := from; t < to; t += 0.002 {
		s.T = append(s.T, t)
		s.Y = append(s.Y, mean+amplitude*math.Sin(2*math.Pi*10*(t-from)/(to-from)))
	}
	return s
}

// Of one stretch the readings are those of the whole window, to the last bit.
func TestOneStretchIsTheWindow(t *testing.T) {
	w := wave(3, 13, 12_800, 20)
	var s Stretches
	s.Add(w)
	require.Equal(t, MeanSpeed(w), s.Mean())
	require.Equal(t, SteadyBand(w, 12_827), s.Band(12_827))
	short := measure.Series{T: w.T[:3], Y: w.Y[:3]}
	s = Stretches{}
	s.Add(short)
	require.Equal(t, MeanSpeed(short), s.Mean())
	require.Equal(t, SteadyBand(short, 12_827), s.Band(12_827))
}

// Of several, the mean is that over time, so that a longer stretch counts for more,
// and the band is the full width of the envelope over all (ISO 8528-5 β, from
// memory): 10 s at 1000 ± 4 and 30 s at 1008 ± 1 are 1006 and 996 to 1009.
func TestSeveralStretches(t *testing.T) {
	var s Stretches
	s.Add(wave(0, 10, 1000, 4))
	s.Add(wave(10, 40, 1008, 1))
	require.InDelta(t, 1006, s.Mean().Value, 0.01)
	require.InDelta(t, 100*(1009.-996)/1000, s.Band(1000).Value, 1e-3)
	require.Equal(t, "window 40.00 s from 0.00 s", s.Mean().Detail)
	require.Equal(t, s.Mean().Detail, s.Band(1000).Detail)
}

// A gap in any stretch is told; a stretch that cannot be read leaves no number.
func TestStretchesTellWhatIsWrong(t *testing.T) {
	gap := wave(10, 20, 1000, 1)
	gap.T, gap.Y = append(gap.T[:2000:2000], gap.T[3000:]...), append(gap.Y[:2000:2000], gap.Y[3000:]...)
	var s Stretches
	s.Add(wave(0, 10, 1000, 1))
	s.Add(gap)
	s.Add(wave(20, 30, 1000, 1))
	require.Equal(t, []string{"no samples from 13.998 s to 16.000 s"}, s.Mean().Warnings)
	require.Equal(t, s.Mean().Warnings, s.Band(1000).Warnings)
	s.Add(measure.Series{T: []float64{30}, Y: []float64{math.NaN()}})
	s.Add(wave(31, 40, 1000, 1))
	require.False(t, s.Mean().OK())
	require.False(t, s.Band(1000).OK())
}
