package machine

import (
	"fmt"
	"math"
	"slices"
)

const (
	// mostStages keeps the exact ratio of the whole train within an int64.
	mostStages = 3
	// ratioSteps is the resolution of a ratio that is given as a number.
	ratioSteps = 1e4
	// ratioSlack is how far a ratio beside teeth may be rounded.
	ratioSlack = 0.005
)

// teeth are those of the two wheels, or whole numbers in the ratio that is
// given in their place.
func (s Stage) teeth() (driver, driven int) {
	if s.Driver > 0 && s.Driven > 0 {
		return s.Driver, s.Driven
	}
	driver, driven = ratioSteps, int(math.Round(s.Ratio*ratioSteps))
	shared := gcd(driver, driven)
	return driver / shared, driven / shared
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// checkGears holds teeth and ratios of all stages against each other.
func (k *checker) checkGears(m *Machine) {
	if len(m.Gears) > mostStages {
		k.Fail("gears", fmt.Sprintf("%d stages", len(m.Gears)), fmt.Sprintf("up to %d fit; give the ratio of two stages as one", mostStages))
	}
	total := 1.0
	for i, s := range m.Gears {
		path := fmt.Sprintf("gears[%d]", i)
		if !k.checkStage(s, path) {
			return
		}
		driver, driven := s.teeth()
		total *= float64(driven) / float64(driver)
	}
	for i, s := range m.Gears {
		if total < 1 {
			k.checkWay(s, fmt.Sprintf("gears[%d]", i))
		}
	}
}

// checkWay asks whether a stage that speeds its shaft up was meant to.
func (k *checker) checkWay(s Stage, path string) {
	switch driver, driven := s.teeth(); {
	case driven >= driver:
	case s.Driver == 0:
		k.Fail(path+".ratio", "the head would turn faster than the engine", "is it written the wrong way round? It is turns of the driving wheel for one of the driven wheel")
	default:
		k.Fail(path+".driver", "the driving wheel has more teeth than the driven one: the head would turn faster than the engine",
			"are they the wrong way round? The driver is the small wheel, on the engine's side")
	}
}

// checkStage reports whether a stage has a ratio, and one only.
func (k *checker) checkStage(s Stage, path string) bool {
	found := k.Faults()
	switch teeth := float64(s.Driven) / float64(s.Driver); {
	case s.Driver == 0 && s.Driven == 0 && s.Ratio == 0:
		k.Fail(path, "it has neither teeth nor a ratio", "add driver and driven, the teeth of the two wheels, or a line such as “ratio: 8.6667”")
	case s.Ratio == 0 && s.Driver == 0:
		k.Fail(path+".driver", "missing", "add the teeth of the driving wheel")
	case s.Ratio == 0 && s.Driven == 0:
		k.Fail(path+".driven", "missing", "add the teeth of the driven wheel")
	case s.Ratio == 0, s.Driver == 0 || s.Driven == 0:
	case math.Abs(s.Ratio/teeth-1) > ratioSlack:
		k.Fail(path+".ratio", fmt.Sprintf("the teeth give %.4f", teeth), "leave the ratio out, or correct the teeth")
	}
	return k.Faults() == found
}

// headsRange reports whether the governor's range was written for the head: all
// wanted head speeds lie in it, and none of the crankshaft speeds.
func (m *Machine) headsRange() bool {
	within := func(speed float64) bool {
		return speed >= float64(m.Governor.SpeedLow) && speed <= float64(m.Governor.SpeedHigh)
	}
	return !slices.ContainsFunc(m.Speeds, func(s SpeedSetting) bool {
		return !within(float64(s.HeadSpeed)) || within(float64(s.HeadSpeed)*m.Ratio())
	})
}
