package sheet

import (
	"fmt"
	"math"

	"govrig/sim/machine"
	"govrig/sim/pickup"
)

// magnetDensity of sintered neodymium magnets, kg/m³ (makers' tables, from
// memory).
const magnetDensity = 7500

// cautions are what can hurt, with this machine's own numbers.
func (s *Sheet) cautions(setup Setup) []string {
	fast := s.fastest()
	return []string{
		rotorCaution(fast),
		s.tipCaution(fast),
		magnetCaution(setup.Pickup, fast.SetEngineRPM),
		"Until the bench has shown otherwise, with no engine running, assume that a governor without pickup pulses opens the throttle. Keep an engine cut that does not go through the governor.",
		"Find out whether the governor's lines are 5 V or 3.3 V before you join them to the board: 5 V into a 3.3 V input needs a divider. Join grounds first; never feed governor or servo from USB.",
		fuelCaution(setup.Fuel) + " The makers' manuals, your club's code and your country's rules come before this sheet.",
	}
}

func (s *Sheet) tipCaution(fast SpeedRow) string {
	limit := "Stay below the blade maker's own limit of speed; this sheet does not know it."
	if s.GreatestHeadRPM > 0 {
		limit = fmt.Sprintf("The blade maker allows %.0f rpm on the head, for blades without a nick or a crack.", s.GreatestHeadRPM)
	}
	return fmt.Sprintf("Blade tips reach %.0f m/s (%.0f km/h). %s", fast.TipSpeedMS, 3.6*fast.TipSpeedMS, limit)
}

func rotorCaution(fast SpeedRow) string {
	text := fmt.Sprintf("At %q the rotor holds %.0f J: %s.", fast.Name, fast.StoredJ, fast.StoredFeels)
	if fast.BladePullN > 0 {
		text += fmt.Sprintf(" Each blade pulls at its bolt with the weight of %.0f kg.", fast.BladePullN/9.80665)
	}
	return text + " Nobody in the plane of the blades; take them off for governor work wherever you can."
}

func fuelCaution(fuel machine.Fuel) string {
	if fuel == machine.Petrol {
		return "Petrol vapour creeps along the ground to any flame or spark: fill up outdoors with the engine cold, and take the spark lead off before you reach into the machine."
	}
	return "Methanol burns with a flame you cannot see and goes through the skin."
}

func magnetCaution(p pickup.Params, engineRPM float64) string {
	mass := magnetDensity * math.Pi / 4 * p.Magnet.Diameter * p.Magnet.Diameter * p.Magnet.Length
	pull := mass * math.Pow(engineRPM*math.Pi/30, 2) * p.Radius
	return fmt.Sprintf("Each magnet (%.2f g) pulls outward with %.0f N at %.0f rpm: glue it and also hold it mechanically. Keep magnets away from pacemakers.",
		1000*mass, pull, engineRPM)
}

func (s *Sheet) fastest() SpeedRow {
	fast := s.Speeds[0]
	for _, row := range s.Speeds[1:] {
		if row.SetHeadRPM > fast.SetHeadRPM {
			fast = row
		}
	}
	return fast
}
