package machine

import "math"

// sizes finds the size of engine and rotor from whatever of displacement, mass
// and radius is known.
func (s *scale) sizes() {
	volume, hasVolume := s.given("engine.displacement")
	mass, hasMass := s.given("flying_mass")
	radius, hasRadius := s.given("main_rotor.radius")
	volume, mass, radius = volume/example("engine.displacement"), mass/example("flying_mass"), radius/example("main_rotor.radius")
	switch {
	case hasMass:
	case hasRadius:
		mass = math.Pow(radius, 3)
	case hasVolume:
		mass = math.Pow(volume, 2./3)
	default:
		mass = 1
	}
	if !hasVolume {
		volume = math.Pow(mass, 1.5)
	}
	head, hasHead := s.given("speeds.hover.head_speed")
	if !hasRadius {
		radius = math.Cbrt(mass)
		if hasHead {
			perSpeed := 1 / head / example("main_rotor.radius")
			radius = max(slowTips*perSpeed, min(fastTips*perSpeed, radius))
		}
	}
	s.volume, s.radius, s.head = volume, radius, head
	s.times(volume, "engine.displacement")
	s.times(mass, "flying_mass")
	s.times(radius, "main_rotor.radius", "main_rotor.chord")
}

// gears finds head speed and ratio: those that were answered, or those that let
// the engine run at a speed of its size.
func (s *scale) gears() {
	const pinion, mostTeeth = 9.0, 500.0
	governed := s.petrol(petrolSlower) * example("speeds.hover.head_speed") * example("gears[0].driven") / example("gears[0].driver") / math.Cbrt(s.volume)
	driver, hasDriver := s.given("gears[0].driver")
	driven, hasDriven := s.given("gears[0].driven")
	ratio, hasRatio := s.given("gears[0].ratio")
	if hasDriver && hasDriven {
		ratio, hasRatio = driven/driver, true
	}
	if s.head == 0 {
		s.head = tipSpeed / (s.radius * example("main_rotor.radius"))
		if hasRatio {
			s.head = max(slowTips/tipSpeed*s.head, min(fastTips/tipSpeed*s.head, governed/ratio))
		}
		s.put("speeds.hover.head_speed", s.head)
	}
	switch wanted := governed / s.head; {
	case hasRatio:
	case hasDriven:
		driver = max(5, math.Round(driven/wanted))
		ratio = driven / driver
	default:
		if !hasDriver {
			driver = pinion
		}
		driven = max(driver, min(mostTeeth, math.Round(driver*wanted)))
		ratio = driven / driver
	}
	s.ratio = ratio
	if _, given := s.answers["gears[0].ratio"]; !given {
		s.whole("gears[0].driver", driver)
		s.whole("gears[0].driven", driven)
	}
}

func (s *scale) engine() {
	lengths, inertia, governed := math.Cbrt(s.volume), math.Pow(s.volume, 5./3), s.head*s.ratio
	usual := example("speeds.hover.head_speed") * example("gears[0].driven") / example("gears[0].driver")
	best := max(leastBest*governed, min(governed, s.petrol(petrolSlower)*bestSpeed*usual/lengths))
	idle := min(example("engine.idle_speed")/lengths, idleShare*governed)
	s.put("engine.peak_torque_speed", best)
	s.put("engine.torque_span", spanOfBest*best)
	s.put("engine.idle_speed", idle)
	s.put("engine.stall_speed", stallShare*idle)
	s.put("engine.inertia", max(leastRunUp*s.torque()/best, s.petrol(petrolFlywheel)*inertia*example("engine.inertia")))
	s.times(lengths, "carburettor.bore", "carburettor.barrel_diameter", "pickup.radius")
	s.times(inertia, "clutch.bell_inertia")
	s.put("clutch.engagement_speed", engageShare*governed)
	s.put("clutch.torque_speed", gripShare*governed)
	s.put("clutch.torque", gripTimes*s.torque())
	s.put("stand_in.arm_speed", armShare*idle)
	s.put("stand_in.spool_rate", spoolShare*governed)
	s.times(usual/governed, "stand_in.proportional_gain")
}

// torque is the most that the engine makes, N·m.
func (s *scale) torque() float64 {
	const path = "engine.mean_effective_pressure"
	pressure, given := s.given(path)
	if !given {
		pressure, _, _ = File.ByPath[path].Number(File.ByPath[path].Assumed(string(s.fuel)))
	}
	return pressure * s.volume * example("engine.displacement") / (2 * math.Pi)
}

func (s *scale) airframe() {
	s.times(math.Pow(s.radius, 3), "main_rotor.blade_mass")
	s.times(math.Pow(s.radius, 5), "main_rotor.hub_inertia", "tail_rotor.inertia", "gears[0].inertia")
}

func (s *scale) governor() {
	const even = 500 * math.Pi / 30 // rad/s, for a range in round numbers
	governed := s.head * s.ratio
	s.put("governor.lowest_speed", max(even, even*math.Floor(rangeLow*governed/even)))
	highest := even * math.Ceil(rangeHigh*governed/even)
	if greatest, ok := s.given("main_rotor.greatest_head_speed"); ok {
		highest = min(highest, max(even*math.Ceil(governed/even), even*math.Floor(greatest*s.ratio/even)))
	}
	s.put("governor.highest_speed", highest)
	if magnets, ok := s.given("pickup.magnets"); ok {
		s.whole("governor.pulses_per_turn", magnets)
	}
}
