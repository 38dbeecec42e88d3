package mounting

import "govrig/sim/pickup"

// Change is what is not as the machine file has it.
type Change string

// Changes.
const (
	AsFiled      Change = "as in the machine file"
	OtherPole    Change = "other pole"
	MagnetTurned Change = "magnet turned a quarter"
	SensorTurned Change = "sensor turned a quarter"
	OtherPattern Change = "some magnets the other way round"
)

// unlikely is how many times too large or too small a gap has to be before
// the change is the likelier cause, as a natural logarithm.
var unlikely = map[Change]float64{
	AsFiled: 0, OtherPole: 0.5, OtherPattern: 0.6, MagnetTurned: 0.7, SensorTurned: 0.7,
}

// mounting is one way to mount magnet and sensor, over all gaps.
type mounting struct {
	change Change
	params pickup.Params // at the file's gap
	nodes  []node
}

// mountings are the one in the file and those that differ from it in one thing.
func mountings(file pickup.Params) []mounting {
	var all []mounting
	add := func(change Change, p pickup.Params) {
		all = append(all, mounting{change: change, params: p})
	}
	add(AsFiled, file)
	other := file
	other.Pole = opposite(file.Pole)
	add(OtherPole, other)
	for _, d := range []pickup.Direction{pickup.Gapwise, pickup.Travelwise, pickup.Crosswise} {
		for _, turned := range []bool{false, true} {
			magnet, sensor := file, file
			magnet.Axis, sensor.Sensor.Normal = d, d
			if turned {
				magnet.Pole, sensor.Sensor.Back = opposite(file.Pole), !file.Sensor.Back
			}
			if d != file.Axis {
				add(MagnetTurned, magnet)
			}
			if d != file.Sensor.Normal {
				add(SensorTurned, sensor)
			}
		}
	}
	if file.Count%2 == 0 {
		pattern := file
		pattern.Pattern = pickup.Same
		if file.Pattern == pickup.Same {
			pattern.Pattern = pickup.Alternating
		}
		add(OtherPattern, pattern)
	}
	return all
}

func opposite(p pickup.Pole) pickup.Pole {
	if p == pickup.South {
		return pickup.North
	}
	return pickup.South
}
