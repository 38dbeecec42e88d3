package drive

import (
	"errors"
	"fmt"

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
	// 50 to 3000.
	EngagementSpeed float64
	// Capacity is the torque the slipping clutch carries at CapacitySpeed,
	// N·m, 0.01 to 100.
	Capacity float64
	// CapacitySpeed is the speed of Capacity, rad/s, above EngagementSpeed, up
	// to 5000.
	CapacitySpeed float64
	// BellInertia of the clutch bell with the first pinion, kg·m², 0 to 0.05.
	BellInertia float64
}

// Stage is one pair of gears, or of toothed pulleys with a belt.
type Stage struct {
	// Driver and Driven are tooth counts, 4 to 1000.
	Driver, Driven int
	// Efficiency is power out over power in, 0.5 to 1.
	Efficiency float64
	// Inertia of the driven wheel and what is fixed to its shaft up to the
	// next stage, kg·m², about that shaft, 0 to 10.
	Inertia float64
}

// ErrNoStages is returned by Validate for a gear train without stages.
var ErrNoStages = errors.New("drive: the gear train has no stage")

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
		Field("Clutch.EngagementSpeed", c.EngagementSpeed, 50, 3000, "rad/s").
		Field("Clutch.Capacity", c.Capacity, 0.01, 100, "N·m").
		Field("Clutch.CapacitySpeed", c.CapacitySpeed, 1.05*c.EngagementSpeed, 5000, "rad/s").
		Field("Clutch.BellInertia", c.BellInertia, 0, 0.05, "kg·m²").
		Err()
}

func (s Stage) validate(i int) error {
	name := func(field string) string { return fmt.Sprintf("Stages[%d].%s", i, field) }
	return bound.Of("drive").
		Field(name("Driver"), float64(s.Driver), 4, 1000, "").
		Field(name("Driven"), float64(s.Driven), 4, 1000, "").
		Field(name("Efficiency"), s.Efficiency, 0.5, 1, "").
		Field(name("Inertia"), s.Inertia, 0, 10, "kg·m²").
		Err()
}
