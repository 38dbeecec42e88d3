package machine

import (
	"math"
	"strconv"
)

// What a new file starts from, where the person has not answered, is the
// invented machine of the examples, brought to the size of the machine:
//
//   - Similar engines run at the same mean piston speed and mean effective
//     pressure (C. F. Taylor, The Internal-Combustion Engine in Theory and
//     Practice, vol. 1, "The effect of size", from memory). With lengths as the
//     cube root of the displacement, speeds go with its power −1/3, torque with
//     1, power with 2/3 and moments of inertia with 5/3.
//   - Similar airframes (square-cube law): mass goes with the cube of the rotor's
//     radius, moments of inertia with its fifth power; mass over engine power
//     and blade tip speed stay as they are.
//   - A governor's range ends at what the blade maker allows, where that is known,
//     and it counts as many pulses as there are magnets.
//   - What belongs to the governed speed is a share of it: governor's range,
//     clutch, idle (common practice, no source).
//   - Petrol engines run slower and have a heavier flywheel (common practice, no
//     source).
const (
	tipSpeed             = 119.0 // m/s, of the example
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
	volume  float64 // relative to the example's
	radius  float64 // relative to the example's
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
	x, problem, _ := File.ByPath[path].Number(text)
	low, high := File.ByPath[path].Range()
	return x, problem == "" && x >= low && x <= high
}

// example is the example's value, in SI.
func example(path string) float64 {
	x, _, _ := File.ByPath[path].Number(File.ByPath[path].Example)
	return x
}

// put writes a value to three digits, in the unit of the example and within the
// key's range.
func (s *scale) put(path string, si float64) {
	k := File.ByPath[path]
	if _, ok := s.answers[path]; ok {
		return
	}
	low, high := k.Range()
	s.values[path] = k.Dimension.Round(max(low, min(high, si)), k.Symbol())
}

// whole writes a whole number.
func (s *scale) whole(path string, n float64) {
	if _, ok := s.answers[path]; !ok {
		s.values[path] = strconv.Itoa(int(n))
	}
}

// times writes the example's value times a factor.
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
