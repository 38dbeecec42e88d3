package drive

import (
	"errors"
	"fmt"
	"math"

	"govrig/sim/bound"
)

// Params describes what stands between the crankshaft and the main shaft:
// a centrifugal clutch, then reduction stages, then a one-way bearing.
type Params struct {
	Clutch Clutch
	// Stages run from the clutch bell to the main shaft; at least one.
	Stages []Stage
}

// Clutch is a centrifugal clutch: springs hold the shoes until the engine
// reaches the engagement speed; above it the bell is gripped with a torque
// that grows as ω² − ω_e².
type Clutch struct {
	// EngagementSpeed is where the shoes touch the bell, rad/s at the engine,
	// above 0.
	EngagementSpeed float64
	// Capacity is the torque the slipping clutch carries at CapacitySpeed,
	// N·m, above 0.
	Capacity float64
	// CapacitySpeed is the speed of Capacity, rad/s, at least 5 % above
	// EngagementSpeed.
	CapacitySpeed float64
	// BellInertia of the clutch bell with the first pinion, kg·m², 0 or more.
	BellInertia float64
}

// Stage is one pair of gears, or of toothed pulleys with a belt.
type Stage struct {
	// Driver and Driven are tooth counts, or whole numbers in the same ratio,
	// above 0.
	Driver, Driven int
	// Efficiency is power out over power in, above 0, at most 1.
	Efficiency float64
	// Inertia of the driven wheel and what is fixed to its shaft up to the
	// next stage, kg·m², about that shaft, 0 or more.
	Inertia float64
}

// ErrNoStages is returned by Validate for a gear train without stages.
var ErrNoStages = errors.New("the gear train has no stage")

// Validate reports the first field outside its range, as a *bound.Error, or
// ErrNoStages.
func (p Params) Validate() error {
	if err := p.Clutch.validate(); err != nil {
		return err
	}
	if len(p.Stages) == 0 {
		return ErrNoStages
	}
	for i, s := range p.Stages {
		if err := s.validate(i); err != nil {
			return err
		}
	}
	return nil
}

func (c Clutch) validate() error {
	return bound.Of("drive").
		Positive("Clutch.EngagementSpeed", c.EngagementSpeed, "rad/s").
		Positive("Clutch.Capacity", c.Capacity, "N·m").
		Field("Clutch.CapacitySpeed", c.CapacitySpeed, 1.05*c.EngagementSpeed, math.MaxFloat64, "rad/s").
		NotNegative("Clutch.BellInertia", c.BellInertia, "kg·m²").
		Err()
}

func (s Stage) validate(i int) error {
	name := func(field string) string { return fmt.Sprintf("Stages[%d].%s", i, field) }
	return bound.Of("drive").
		Positive(name("Driver"), float64(s.Driver), "").
		Positive(name("Driven"), float64(s.Driven), "").
		Field(name("Efficiency"), s.Efficiency, math.SmallestNonzeroFloat64, 1, "").
		NotNegative(name("Inertia"), s.Inertia, "kg·m²").
		Err()
}
