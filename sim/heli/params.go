package heli

import (
	"fmt"

	"govrig/sim/air"
	"govrig/sim/bound"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/rotor"
	"govrig/sim/servo"
)

// Params describes a whole machine.
type Params struct {
	Air    air.Params
	Servo  servo.Params
	Engine engine.Params
	Drive  drive.Params
	Rotor  rotor.Params
	// Throttle is the barrel's open area as a share of its full area, 0 to 1,
	// at evenly spaced arm angles of the servo, the first at PulseLow and the
	// last at PulseHigh; 2 to 4096 values, rising or falling. Between them a
	// smooth curve runs that never overshoots them. The idle stop of the
	// engine comes on top: see engine.Params.IdleSpeed.
	Throttle []float64
}

// Validate reports the first field outside its range, of its parts' or its own,
// as a *bound.Error, or drive.ErrNoStages.
func (p Params) Validate() error {
	for _, part := range []interface{ Validate() error }{p.Air, p.Servo, p.Engine, p.Drive, p.Rotor} {
		if err := part.Validate(); err != nil {
			return err
		}
	}
	check := bound.Of("heli").Field("len(Throttle)", float64(len(p.Throttle)), 2, 4096, "")
	for i, share := range p.Throttle {
		check.Field(fmt.Sprintf("Throttle[%d]", i), share, 0, 1, "")
	}
	return check.Err()
}
