package pickup

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// hall is a unipolar part of a common class: operate 10 typical, 12 mT at
// most, release 7 typical, 4 at least (a distributor's listing of AH441-class
// data).
func hall(kind Kind) Sensor {
	s := Sensor{
		Kind: kind, Normal: Gapwise,
		Operate: Point{0.010, 0.012}, Release: Point{0.007, 0.004},
	}
	if kind == Latch { // ±0.5 to ±9.5 mT, from memory of such data sheets
		s.Operate, s.Release = Point{0.005, 0.0095}, Point{-0.005, -0.0095}
	}
	return s
}

func fan(kind Kind) Params {
	return Params{
		Magnet: d4l2, Count: 1, Pattern: Same, Radius: 0.030,
		Axis: Gapwise, Pole: South, Placement: Rim, Gap: 0.0015,
		Sensor: hall(kind),
	}
}

// far is a dipole that passes on what is nearly a straight line: the limit in
// which the passing laws hold.
func far(axis Direction, gap float64) *pass {
	p := fan(Unipolar)
	p.Magnet = Magnet{Diameter: 1e-3 * gap, Length: 1e-3 * gap, Remanence: 1}
	p.Axis, p.Radius = axis, 1e4*gap
	p.Gap = gap - p.Magnet.reach(axis)
	return newPass(p)
}

// The laws of a dipole passing at gap g (own derivation from the dipole
// formula): axis along the gap, zero at √2·g and opposite lobes of 1.7889 % at
// 2g; axis along the travel, odd, peaks of 42.93 % at g/2; axis along the
// shaft, nothing. The straight line is met to g/R = 1e-4.
func TestPassingLaws(t *testing.T) {
	const g = 0.003
	at := func(s *pass, x float64) float64 { return s.field(x / s.p.Radius) }
	gapwise := far(Gapwise, g)
	peak := at(gapwise, 0)
	require.Positive(t, peak, "south pole at the branded face")
	require.InDelta(t, 0, at(gapwise, math.Sqrt2*g)/peak, 2e-4)
	require.InDelta(t, -0.017889, at(gapwise, 2*g)/peak, 2e-5)
	require.Less(t, at(gapwise, 2*g), at(gapwise, 1.9*g))
	require.Less(t, at(gapwise, 2*g), at(gapwise, 2.1*g))

	travel := far(Travelwise, g)
	require.InDelta(t, 0, at(travel, 0)/peak, 1e-4)
	high := at(travel, g/2)
	require.InDelta(t, 0.4293, math.Abs(high/peak), 2e-4)
	require.InDelta(t, -high, at(travel, -g/2), 2e-4*math.Abs(high))
	require.Less(t, math.Abs(at(travel, 0.45*g)), math.Abs(high))
	require.Less(t, math.Abs(at(travel, 0.55*g)), math.Abs(high))

	cross := far(Crosswise, g)
	for _, x := range []float64{-g, 0, g / 2} {
		require.InDelta(t, 0, at(cross, x)/peak, 1e-9)
	}
}

// Half widths in mm at which a D4×L2 of Br 1.2 passing on a straight line
// reaches 10 mT and falls below 5 mT (own computation from the charge sheets).
func TestOperateWidths(t *testing.T) {
	want := map[float64][2]float64{
		1: {2.9685, 3.1009}, 2: {3.5419, 3.9147}, 3: {3.7669, 4.4318}, 4: {3.6671, 4.6693},
	}
	for gap, half := range want {
		p := fan(Unipolar)
		p.Radius, p.Gap = 100, gap/1000 // a straight line, nearly
		pulses, stuck := trip{Unipolar, 0.010, 0.005}.pulses(newTrace(p))
		require.False(t, stuck)
		require.Len(t, pulses, 1)
		require.InDelta(t, -half[0], 1000*p.Radius*pulses[0].Operate, 2e-3)
		require.InDelta(t, half[1], 1000*p.Radius*pulses[0].Release, 2e-3)
		width := (half[0] + half[1]) / 1000 / (2 * math.Pi * p.Radius)
		require.InEpsilon(t, width, pulses[0].Width(), 1e-3)
	}
}

// Counts follow from the passing laws above and from what each kind of switch
// answers to (Allegro's note on omnipolar switches names the kinds).
func TestCounts(t *testing.T) {
	type want struct {
		pulses int
		stuck  bool
	}
	turned := func(p Params, axis Direction, pole Pole) Params {
		p.Axis, p.Pole = axis, pole
		return p
	}
	several := func(p Params, n int, pattern Pattern) Params {
		p.Count, p.Pattern = n, pattern
		return p
	}
	back := fan(Unipolar)
	back.Sensor.Back, back.Pole = true, North
	face := fan(Unipolar)
	face.Placement = Face
	quarter := turned(fan(Unipolar), Travelwise, North)
	quarter.Sensor.Normal = Travelwise
	latch := fan(Latch)
	latch.Gap = 0.0025 // nearer, the side lobes of this magnet release it
	edge := turned(fan(Unipolar), Crosswise, South)
	edge.Sensor.Normal = Crosswise
	cases := map[string]struct {
		p Params
		want
	}{
		"unipolar, right pole":             {fan(Unipolar), want{1, false}},
		"unipolar, wrong pole":             {turned(fan(Unipolar), Gapwise, North), want{0, false}},
		"unipolar, north at the back":      {back, want{1, false}},
		"unipolar, at the face":            {face, want{1, false}},
		"unipolar, axis along travel":      {turned(fan(Unipolar), Travelwise, North), want{1, false}},
		"unipolar, axis along the shaft":   {turned(fan(Unipolar), Crosswise, North), want{0, false}},
		"unipolar, both turned to travel":  {quarter, want{2, false}},
		"unipolar, both along the shaft":   {edge, want{1, false}},
		"unipolar, two alike":              {several(fan(Unipolar), 2, Same), want{2, false}},
		"unipolar, four alternating":       {several(fan(Unipolar), 4, Alternating), want{2, false}},
		"latch, one pole":                  {latch, want{0, true}},
		"latch, axis along travel":         {turned(fan(Latch), Travelwise, North), want{1, false}},
		"latch, four alternating":          {several(latch, 4, Alternating), want{2, false}},
		"omnipolar, north":                 {turned(fan(Omnipolar), Gapwise, North), want{1, false}},
		"omnipolar, south":                 {fan(Omnipolar), want{1, false}},
		"omnipolar, axis along travel":     {turned(fan(Omnipolar), Travelwise, North), want{2, false}},
		"omnipolar, four alternating":      {several(fan(Omnipolar), 4, Alternating), want{4, false}},
		"omnipolar, alternating, a sector": {several(fan(Omnipolar), 2, Alternating), want{2, false}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			got, err := Predict(c.p)
			require.NoError(t, err)
			require.Equal(t, c.pulses, got.PulsesPerRev)
			require.Equal(t, c.stuck, got.Stuck)
			if c.pulses > 0 && c.p.Sensor.Kind != Latch {
				require.Equal(t, c.pulses, got.WorstPulsesPerRev)
				require.Greater(t, got.Margin, 1.0)
			}
		})
	}
}

// A strong magnet very near gives two weak pulses with the wrong pole, from
// the side lobes.
func TestSideLobesGiveTwoPulses(t *testing.T) {
	p := fan(Unipolar)
	p.Pole, p.Gap = North, 0.0003
	p.Magnet = Magnet{Diameter: 0.006, Length: 0.004, Remanence: 1.4}
	got, err := Predict(p)
	require.NoError(t, err)
	require.Equal(t, 2, got.PulsesPerRev)
}

// A latch that one pole has set is released by the side lobes once the magnet
// is near enough: a pulse nobody meant.
func TestSideLobesReleaseALatch(t *testing.T) {
	p := fan(Latch)
	for gap, pulses := range map[float64]int{0.0010: 1, 0.0025: 0} {
		p.Gap = gap
		got, err := Predict(p)
		require.NoError(t, err)
		require.Equal(t, pulses, got.PulsesPerRev)
		require.Equal(t, pulses == 0, got.Stuck)
	}
}

// On an axis-along-travel magnet the pulse stands beside the magnet by about
// half the distance to it.
func TestTravelPulseIsDisplaced(t *testing.T) {
	p := fan(Unipolar)
	p.Axis, p.Pole = Travelwise, North
	got, err := Predict(p)
	require.NoError(t, err)
	middle := (got.Pulses[0].Operate + got.Pulses[0].Release) / 2 * p.Radius
	require.Greater(t, math.Abs(middle), (p.Gap+p.Magnet.Diameter/2)/2)
}

func TestMarginAndLargestGap(t *testing.T) {
	p := fan(Unipolar)
	got, err := Predict(p)
	require.NoError(t, err)
	require.InDelta(t, p.Magnet.OnAxis(p.Gap), got.Peak, 1e-5)
	require.InDelta(t, p.Magnet.OnAxis(p.Gap)/p.Sensor.Operate.Worst, got.Margin, 1e-3)
	gap, err := LargestGap(p)
	require.NoError(t, err)
	require.InEpsilon(t, p.Sensor.Operate.Worst, p.Magnet.OnAxis(gap), 1e-3)

	p.Gap = gap + 1e-5
	wide, err := Predict(p)
	require.NoError(t, err)
	require.Zero(t, wide.WorstPulsesPerRev)
	require.Less(t, wide.Margin, 1.0)
	again, err := LargestGap(p)
	require.NoError(t, err)
	require.InDelta(t, gap, again, 1e-12, "the gap there is does not matter")
}

func TestNoGapIsSmallEnough(t *testing.T) {
	p := fan(Unipolar)
	p.Sensor.Operate.Worst = 0.9
	gap, err := LargestGap(p)
	require.NoError(t, err)
	require.Zero(t, gap)
	p.Count = 0
	_, err = LargestGap(p)
	require.Error(t, err)
}

// Whatever the set-up, the margin decides whether the worst part switches, and
// pulses have a width between nothing and the turn.
func TestMarginAgreesWithPulses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := fan(rapid.SampledFrom([]Kind{Unipolar, Omnipolar}).Draw(t, "kind"))
		p.Magnet = anyMagnet(t)
		p.Gap = rapid.Float64Range(0.0005, 0.010).Draw(t, "gap")
		p.Offset = rapid.Float64Range(-0.003, 0.003).Draw(t, "offset")
		p.Axis = rapid.SampledFrom([]Direction{Gapwise, Travelwise, Crosswise}).Draw(t, "axis")
		p.Placement = rapid.SampledFrom([]Placement{Rim, Face}).Draw(t, "placement")
		got, err := Predict(p)
		require.NoError(t, err)
		if math.Abs(got.Margin-1) > 1e-3 {
			require.Equal(t, got.Margin > 1, got.WorstPulsesPerRev > 0 || got.Stuck)
		}
		for _, pulse := range got.Pulses {
			require.Greater(t, pulse.Width(), 0.0)
			require.Less(t, pulse.Width(), 1.0)
		}
	})
}

// Turning the magnet over and reading from the sensor's back changes nothing.
func TestTurningBothOverChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := fan(rapid.SampledFrom([]Kind{Unipolar, Latch, Omnipolar}).Draw(t, "kind"))
		p.Axis = rapid.SampledFrom([]Direction{Gapwise, Travelwise}).Draw(t, "axis")
		p.Offset = rapid.Float64Range(-0.003, 0.003).Draw(t, "offset")
		one, err := Predict(p)
		require.NoError(t, err)
		p.Sensor.Back = true
		p.Pole = North
		other, err := Predict(p)
		require.NoError(t, err)
		require.Equal(t, one, other)
	})
}

func TestPulsesOfSeveralMagnetsFillTheTurnEvenly(t *testing.T) {
	p := fan(Unipolar)
	one, err := Predict(p)
	require.NoError(t, err)
	for _, n := range []int{2, 3, 6} {
		p.Count = n
		got, err := Predict(p)
		require.NoError(t, err)
		require.Equal(t, n, got.PulsesPerRev)
		require.InEpsilon(t, one.Width, got.Width, 0.02)
	}
}

// Faraday's law: the area under a coil's pulse is turns times the change of
// flux, whatever the speed, and the peak grows with the speed, so the width
// shrinks with it.
func TestCoil(t *testing.T) {
	p := fan(Unipolar)
	coil := Coil{Turns: 1000, Area: 3e-6}
	signal, err := coil.Signal(p)
	require.NoError(t, err)
	// The field falls twice: from nothing into the first of the opposite lobes,
	// and from the peak into the second.
	got, err := Predict(p)
	require.NoError(t, err)
	require.InEpsilon(t, 1000*3e-6*(got.Peak-2*got.Trough), signal.Area, 1e-2)
	require.Positive(t, signal.PeakPerSpeed)

	p.Gap *= 2
	wider, err := coil.Signal(p)
	require.NoError(t, err)
	require.Less(t, wider.PeakPerSpeed, signal.PeakPerSpeed)
}

func TestValidate(t *testing.T) {
	cases := map[string]func(*Params){
		"Count":                  func(p *Params) { p.Count = 0 },
		"Radius":                 func(p *Params) { p.Radius = 0 },
		"Gap":                    func(p *Params) { p.Gap = math.NaN() },
		"Offset":                 func(p *Params) { p.Offset = math.NaN() },
		"Magnet.Diameter":        func(p *Params) { p.Magnet.Diameter = 0 },
		"Magnet.Length":          func(p *Params) { p.Magnet.Length = 0 },
		"Magnet.Remanence":       func(p *Params) { p.Magnet.Remanence = 0 },
		"Sensor.Depth":           func(p *Params) { p.Sensor.Depth = -1 },
		"Sensor.Operate.Typical": func(p *Params) { p.Sensor.Operate.Typical = 0 },
		"Sensor.Operate.Worst":   func(p *Params) { p.Sensor.Operate.Worst = 0.001 },
		"Sensor.Release.Typical": func(p *Params) { p.Sensor.Release.Typical = 0.02 },
		"Sensor.Release.Worst":   func(p *Params) { p.Sensor.Release.Worst = 0.009 },
		"Axis must":              func(p *Params) { p.Axis = "up" },
		"Pole must":              func(p *Params) { p.Pole = "" },
		"Placement must":         func(p *Params) { p.Placement = "" },
		"Pattern must":           func(p *Params) { p.Pattern = "" },
		"Sensor.Kind must":       func(p *Params) { p.Sensor.Kind = "" },
		"Sensor.Normal must":     func(p *Params) { p.Sensor.Normal = "" },
		"an even number":         func(p *Params) { p.Count, p.Pattern = 3, Alternating },
	}
	for text, spoil := range cases {
		p := fan(Unipolar)
		spoil(&p)
		_, err := Predict(p)
		require.ErrorContains(t, err, text)
	}
	latch := fan(Latch)
	latch.Sensor.Release.Typical = 0.004
	_, err := Predict(latch)
	require.ErrorContains(t, err, "Sensor.Release.Typical")
}

func BenchmarkPredict(b *testing.B) {
	p := fan(Unipolar)
	b.ReportAllocs()
	for b.Loop() {
		_, _ = Predict(p)
	}
}
