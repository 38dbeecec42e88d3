package mounting

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure/train"
	"govrig/sim/pickup"
	"govrig/sim/pickup/turned"
)

// machines are pickups of our own invention; the switching points are those of
// common parts (a distributor's listing of AH441-class data; latches from
// memory of such data sheets).
func machines() map[string]pickup.Params {
	one := pickup.Params{
		Magnet: pickup.Magnet{Diameter: 0.004, Length: 0.002, Remanence: 1.2}, Count: 1, Pattern: pickup.Same,
		Radius: 0.032, Axis: pickup.Gapwise, Pole: pickup.South, Placement: pickup.Face, Gap: 0.0014,
		Sensor: pickup.Sensor{
			Kind: pickup.Unipolar, Normal: pickup.Gapwise, Depth: 0.0005,
			Operate: pickup.Point{Typical: 0.010, Worst: 0.012}, Release: pickup.Point{Typical: 0.007, Worst: 0.004},
		},
	}
	two := one
	two.Count, two.Placement, two.Radius = 2, pickup.Rim, 0.024
	omnipolar := one
	omnipolar.Sensor.Kind = pickup.Omnipolar
	latch := two
	latch.Pattern, latch.Sensor.Kind, latch.Gap = pickup.Alternating, pickup.Latch, 0.0025
	latch.Sensor.Operate, latch.Sensor.Release = pickup.Point{Typical: 0.004, Worst: 0.009}, pickup.Point{Typical: -0.004, Worst: -0.009}
	return map[string]pickup.Params{"one magnet": one, "two magnets": two, "omnipolar": omnipolar, "latch": latch}
}

// seen turns the magnets past the sensor and reads the pulses.
func seen(t *testing.T, p pickup.Params) (turn train.Turning, pulses int) {
	is, err := pickup.Predict(p)
	require.NoError(t, err)
	s, err := turned.New(p, false, turned.Stretch{Time: 0, Speed: 2 * math.Pi * 20})
	require.NoError(t, err)
	var read []train.Pulse
	for on := math.NaN(); len(read) < 8*is.PulsesPerRev+1; {
		time, high, ok := s.Next()
		if !ok {
			break
		}
		if high {
			on = time
		} else if !math.IsNaN(on) {
			read = append(read, train.Pulse{Start: on, Width: time - on})
		}
	}
	if is.PulsesPerRev == 0 {
		return turn, 0
	}
	turn, ok := train.Turn(read, is.PulsesPerRev)
	require.True(t, ok)
	return turn, is.PulsesPerRev
}

var gaps = []float64{0.3e-3, 0.6e-3, 1.0e-3, 1.4e-3, 2.0e-3, 2.7e-3, 3.4e-3, 4.2e-3, 5.0e-3, 7e-3}

// Whatever the magnet's direction, pole and gap, or the sensor's direction and
// side: what the field model makes of it can come from it, and is said to. The
// file's own mounting at the file's gap comes first.
func TestTheTruthIsAmongTheCauses(t *testing.T) {
	for name, file := range machines() {
		book, err := New(file)
		require.NoError(t, err)
		for _, m := range mountings(file) {
			for i, gap := range append(gaps, file.Gap) {
				if name != "one magnet" && i%3 != 1 {
					continue // a few of the gaps will do
				}
				truth := m.params
				truth.Gap = gap
				label := fmt.Sprintf("%s, %s, magnet %s %s, sensor %s %v, %.1f mm", name, m.change,
					truth.Axis, truth.Pole, truth.Sensor.Normal, truth.Sensor.Back, 1e3*gap)
				turn, pulses := seen(t, truth)
				causes := book.Explain(turn)
				if pulses == 0 {
					is, err := pickup.Predict(truth)
					require.NoError(t, err)
					causes = book.Silent(is.Stuck)
				}
				at := slices.IndexFunc(causes, func(c Cause) bool {
					same := c.Params
					same.Gap = gap
					return same == truth && c.Low <= gap*1.001 && c.High >= gap*0.999
				})
				require.GreaterOrEqual(t, at, 0, "%s: %+v", label, causes)
				if m.change == AsFiled && gap == file.Gap {
					require.Zero(t, at, label)
					require.InDelta(t, 0, causes[0].Unlikely, 0.01, label)
				}
			}
		}
	}
}

// A cause really gives what was seen: predicted again, its pulses are as many
// and as wide, within the tolerance.
func TestEachCauseGivesWhatWasSeen(t *testing.T) {
	for name, file := range machines() {
		book, err := New(file)
		require.NoError(t, err)
		for _, gap := range gaps {
			truth := file
			truth.Gap = gap
			turn, pulses := seen(t, truth)
			if pulses == 0 {
				continue
			}
			for _, c := range book.Explain(turn) {
				is, err := pickup.Predict(c.Params)
				require.NoError(t, err)
				require.Equal(t, pulses, is.PulsesPerRev, name)
				require.InEpsilon(t, turn.Width(), is.Width, 1.1*(relative+absolute/turn.Width()), name)
			}
		}
	}
}

// The gap is found from the width to a tenth where the width tells it, on the
// near side or the far.
func TestGapIsRecovered(t *testing.T) {
	file := machines()["one magnet"]
	book, err := New(file)
	require.NoError(t, err)
	for _, gap := range []float64{0.5e-3, 0.8e-3, 1.1e-3, 1.4e-3, 1.7e-3, 4.4e-3, 5.0e-3, 5.5e-3} {
		truth := file
		truth.Gap = gap
		turn, _ := seen(t, truth)
		require.True(t, slices.ContainsFunc(book.Explain(turn), func(c Cause) bool {
			return c.Change == AsFiled && math.Abs(c.Gap/gap-1) < 0.1
		}), "%g", gap)
	}
}

func TestBookTells(t *testing.T) {
	for name, tells := range map[string]bool{"one magnet": true, "two magnets": true, "omnipolar": true, "latch": false} {
		book, err := New(machines()[name])
		require.NoError(t, err)
		require.Equal(t, tells, book.Tells(), name)
	}
}

// A width that fits nothing has no cause, and a reading that scatters has more
// of them.
func TestTolerance(t *testing.T) {
	file := machines()["one magnet"]
	book, err := New(file)
	require.NoError(t, err)
	turn, _ := seen(t, file)
	sure := len(book.Explain(turn))
	turn.Scatter = 0.3
	require.Greater(t, len(book.Explain(turn)), sure)
	turn.Scatter, turn.Widths = 0, []float64{0.3}
	require.Empty(t, book.Explain(turn))
	turn.PerTurn = 7
	require.Empty(t, book.Explain(turn))
	file.Gap = 0
	_, err = New(file)
	require.Error(t, err)
}

func BenchmarkNew(b *testing.B) {
	file := machines()["one magnet"]
	b.ReportAllocs()
	for b.Loop() {
		_, err := New(file)
		require.NoError(b, err)
	}
}
