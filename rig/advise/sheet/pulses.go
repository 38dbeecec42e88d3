package sheet

import "govrig/sim/pickup"

// PickupPart is what the pickup gives as it is built, and what it would give
// with the magnet in every other orientation.
type PickupPart struct {
	Magnets int `json:"magnets"`
	// GovernorPulses is what the governor is told; Arrangement has what it gets.
	GovernorPulses int `json:"governor_pulses_per_turn"`
	Arrangement
	GapMM float64 `json:"gap_mm"`
	// LargestGapMM is where even the part that needs most just switches.
	LargestGapMM float64 `json:"largest_gap_mm"`
	// PeakMT and TroughMT are the field at the sensing element, positive for a
	// south pole at the branded face.
	PeakMT   float64 `json:"peak_field_mt"`
	TroughMT float64 `json:"trough_field_mt"`
	// Orientations are the same magnets in all three orientations, both poles.
	Orientations []Arrangement `json:"orientations"`
	// Remedy is the least change that would give the pulses that the governor
	// expects; empty when the pickup gives them or nothing does.
	Remedy string `json:"remedy"`
}

// Arrangement is one way to mount magnet and sensor, and what it gives.
type Arrangement struct {
	// Axis is the magnet's direction: gap, travel or cross.
	Axis string `json:"magnet_axis"`
	// Pole looks at the sensor, leads, or looks along the positive cross
	// direction.
	Pole string `json:"magnet_pole"`
	// Words say both.
	Words   string `json:"mounting"`
	AsBuilt bool   `json:"as_built"`

	PulsesPerTurn int `json:"pulses_per_turn"`
	// WorstPulses is the count with the switch that needs most field.
	WorstPulses int `json:"worst_part_pulses_per_turn"`
	// StuckOn is set when the output never switches off.
	StuckOn      bool    `json:"stuck_on"`
	WidthPercent float64 `json:"pulse_width_percent_of_turn"`
	// Margin is the field there is over the field that the worst part needs.
	Margin float64 `json:"margin"`
}

func newPickup(p pickup.Params, expected int) (PickupPart, error) {
	got, err := pickup.Predict(p)
	if err != nil {
		return PickupPart{}, err
	}
	largest, err := pickup.LargestGap(p)
	if err != nil {
		return PickupPart{}, err
	}
	part := PickupPart{
		Magnets:        p.Count,
		GovernorPulses: expected,
		Arrangement:    arrangement(p, got),
		GapMM:          1000 * p.Gap,
		LargestGapMM:   1000 * largest,
		PeakMT:         1000 * got.Peak,
		TroughMT:       1000 * got.Trough,
	}
	part.AsBuilt = true
	if part.Orientations, err = orientations(p); err != nil {
		return PickupPart{}, err
	}
	if !part.fits(expected) {
		part.Remedy, err = remedy(p, expected)
	}
	return part, err
}

func arrangement(p pickup.Params, got pickup.Prediction) Arrangement {
	return Arrangement{
		Axis:          string(p.Axis),
		Pole:          string(p.Pole),
		Words:         mounting(p),
		PulsesPerTurn: got.PulsesPerRev,
		WorstPulses:   got.WorstPulsesPerRev,
		StuckOn:       got.Stuck,
		WidthPercent:  100 * got.Width,
		Margin:        got.Margin,
	}
}

// fits reports whether any part, typical or worst, gives the expected pulses.
func (a Arrangement) fits(expected int) bool {
	return a.PulsesPerTurn == expected && a.WorstPulses == expected
}

func orientations(p pickup.Params) ([]Arrangement, error) {
	built := p
	var all []Arrangement
	for _, p.Axis = range []pickup.Direction{pickup.Gapwise, pickup.Travelwise, pickup.Crosswise} {
		for _, p.Pole = range []pickup.Pole{pickup.South, pickup.North} {
			got, err := pickup.Predict(p)
			if err != nil {
				return nil, err
			}
			a := arrangement(p, got)
			a.AsBuilt = p == built
			all = append(all, a)
		}
	}
	return all, nil
}

// remedy looks for the least work that gives the expected pulses: turn the
// sensor, bring it nearer, turn the magnet.
func remedy(p pickup.Params, expected int) (string, error) {
	for _, try := range remedies(p) {
		got, err := pickup.Predict(try.p)
		if err != nil {
			return "", err
		}
		if arrangement(try.p, got).fits(expected) && got.Margin >= 1 {
			return try.words, nil
		}
	}
	return "", nil
}

type trial struct {
	p     pickup.Params
	words string
}

func remedies(p pickup.Params) []trial {
	var all []trial
	add := func(words string, change func(*pickup.Params)) {
		changed := p
		change(&changed)
		if changed != p {
			all = append(all, trial{changed, words})
		}
	}
	add("turn the sensor over, so that its other face looks the same way", func(p *pickup.Params) { p.Sensor.Back = !p.Sensor.Back })
	for _, back := range []bool{false, true} {
		face := "branded face"
		if back {
			face = "plain back"
		}
		add("turn the sensor a quarter, so that its "+face+" looks at the magnet", func(p *pickup.Params) {
			p.Sensor.Normal, p.Sensor.Back = pickup.Gapwise, back
		})
	}
	for _, gap := range []float64{0.75, 0.5, 0.25} {
		add("bring the sensor nearer", func(p *pickup.Params) { p.Gap *= gap })
	}
	for _, pole := range []pickup.Pole{pickup.South, pickup.North} {
		add("mount the magnet with its "+string(pole)+" pole toward the sensor", func(p *pickup.Params) {
			p.Axis, p.Pole = pickup.Gapwise, pole
		})
	}
	return all
}

// mounting says in words how the magnet stands.
func mounting(p pickup.Params) string {
	pole := string(p.Pole)
	switch {
	case p.Axis == pickup.Gapwise:
		return pole + " pole toward the sensor"
	case p.Axis == pickup.Travelwise:
		return "along the travel, " + pole + " pole leading"
	case p.Placement == pickup.Rim:
		return "along the shaft, " + pole + " pole up"
	}
	return "along the radius, " + pole + " pole outward"
}
