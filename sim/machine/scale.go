package machine

import (
	"math"
	"strconv"
	"strings"

	"govrig/sim/engine"
	"govrig/sim/rotor"
)

// What a new file starts from, where the person has not answered, is the
// invented trainer of the examples, brought to the size of the machine:
//
//   - Similar engines run at the same mean piston speed and mean effective
//     pressure (C. F. Taylor, The Internal-Combustion Engine in Theory and
//     Practice, vol. 1, "The effect of size", from memory). With lengths as the
//     cube root of the displacement, speeds go with its power −1/3, torque with
//     1, power with 2/3 and moments of inertia with 5/3.
//   - Similar airframes (square-cube law): mass goes with the cube of the rotor's
//     radius, moments of inertia with its fifth power; mass over engine power
//     and blade tip speed stay as they are.
//   - What belongs to the governed speed is a share of it: governor's range,
//     clutch, idle (common practice, no source).
//   - Petrol engines run slower and have a heavier flywheel (common practice, no
//     source).
const (
	tipSpeed             = 119.0 // m/s, of the trainer
	slowTips, fastTips   = 90.0, 135.0
	petrolSlower         = 0.85
	petrolFlywheel       = 1.4
	leastRunUp           = 0.02 // s, of the engine alone with its most torque
	bestSpeed            = 0.94 // speed of most torque over governed speed
	leastBest            = 0.75 // and its least, where the teeth ask for more
	spanOfBest           = 1.25 // torque_span over that speed
	idleShare            = 0.23 // of the governed speed, at most
	stallShare           = 0.45 // of the idle speed
	engageShare          = 0.42 // of the governed speed
	gripShare, gripTimes = 0.72, 2.5
	rangeLow, rangeHigh  = 0.6, 1.4
	armShare, spoolShare = 0.8, 0.14 // of the idle speed; of the governed speed per second
	climbPower           = 2.0 / 3   // of full power, under the heavy load
	mostClimb            = 14 * math.Pi / 180
)

// scale is a machine in the making: the answers, and what follows from them.
type scale struct {
	answers map[string]string
	values  map[string]string
	fuel    Fuel
	volume  float64 // relative to the trainer's
	radius  float64 // relative to the trainer's
	head    float64 // rad/s
	ratio   float64
}

// scaled gives values by path for the keys that go with the size of the machine
// and that the person has not answered.
func scaled(answers map[string]string) map[string]string {
	s := &scale{answers: answers, values: map[string]string{}, fuel: Fuel(answers["engine.fuel"])}
	s.sizes()
	s.gears()
	s.engine()
	s.airframe()
	s.governor()
	return s.values
}

// given is the answer for a path in SI, if there is one that can be read.
func (s *scale) given(path string) (float64, bool) {
	text, ok := s.answers[path]
	if !ok {
		return 0, false
	}
	x, problem, _ := byPath[path].number(text)
	return x, problem == "" && x >= byPath[path].low && x <= byPath[path].high
}

// example is the trainer's value, in SI.
func example(path string) float64 {
	x, _, _ := byPath[path].number(byPath[path].Example)
	return x
}

// put writes a value to three digits, in the unit of the example and within the
// key's range.
func (s *scale) put(path string, si float64) {
	k := byPath[path]
	if _, ok := s.answers[path]; ok {
		return
	}
	symbol := strings.TrimLeft(k.Example, "-0123456789. ")
	s.values[path] = k.Dimension.Round(max(k.low, min(k.high, si)), symbol)
}

// whole writes a whole number.
func (s *scale) whole(path string, n float64) {
	if _, ok := s.answers[path]; !ok {
		s.values[path] = strconv.Itoa(int(n))
	}
}

// times writes the trainer's value times a factor.
func (s *scale) times(factor float64, paths ...string) {
	for _, path := range paths {
		s.put(path, factor*example(path))
	}
}

// petrol is a factor that holds for petrol engines only.
func (s *scale) petrol(factor float64) float64 {
	if s.fuel == Petrol {
		return factor
	}
	return 1
}

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
		perRadius := 1 / (s.radius * example("main_rotor.radius"))
		s.head = tipSpeed * perRadius
		if hasRatio {
			s.head = max(slowTips*perRadius, min(fastTips*perRadius, governed/ratio))
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
	trainer := example("speeds.hover.head_speed") * example("gears[0].driven") / example("gears[0].driver")
	best := max(leastBest*governed, min(governed, s.petrol(petrolSlower)*bestSpeed*trainer/lengths))
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
	s.times(trainer/governed, "stand_in.proportional_gain")
}

// torque is the most that the engine makes, N·m.
func (s *scale) torque() float64 {
	const path = "engine.mean_effective_pressure"
	pressure, given := s.given(path)
	if !given {
		pressure, _, _ = byPath[path].number(byPath[path].assumed(s.fuel))
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
	s.put("governor.highest_speed", even*math.Ceil(rangeHigh*governed/even))
}

// climb is the collective, rad, at which the slowest wanted speed takes two
// thirds of what the engine can give there; more than light, the lesser
// collective of the load step.
func (m *Machine) climb() float64 {
	p, head := m.heli, float64(m.Speeds[0].HeadSpeed)
	r, train := rotor.New(p.Rotor, p.Air.Density()), m.Ratio()
	const anyStep = 1e-4
	e := engine.New(p.Engine, p.Air.State(), anyStep)
	wanted := climbPower * e.Torque(1, head*train) * head * train
	light := float64(m.LoadStep.CollectiveLow)
	low, high := light, mostClimb
	for range 40 { // halves until far below a tenth of a degree
		middle := (low + high) / 2
		if r.Steady(head, middle, 0).Power < wanted {
			low = middle
		} else {
			high = middle
		}
	}
	return max(low, light+math.Pi/180)
}
