package heli

import (
	"errors"
	"fmt"
	"math"

	"govrig/sim/bound"
)

// Reasons why there is no trim, to be matched with errors.Is.
var (
	// ErrNoPower: even the full throttle that the linkage allows is too little.
	ErrNoPower = errors.New("the engine cannot hold this load")
	// ErrNoRest: even the closed throttle is too much.
	ErrNoRest = errors.New("the closed throttle already gives too much")
	// ErrSlip: the clutch would slip under the torque.
	ErrSlip = errors.New("the clutch slips under this load")
)

// trim is a steady state of hover with the clutch locked.
type trim struct {
	head, engine, pitch float64
	inflow              float64
	share               float64 // of the servo's travel
	opening             float64 // of the barrel from its idle stop
	torque              float64 // of the engine
}

// Trim finds the throttle pulse, s, and the open area as a share of the full,
// 0 to 1, that hold a head speed, rad/s, 10 to 1000, in a hover at a
// collective, rad. Dead band, resolution and backlash are left out. The error
// wraps ErrNoPower, ErrNoRest or ErrSlip, or is a *bound.Error.
func (pl *Plant) Trim(headSpeed, collective float64) (throttlePulse, opening float64, err error) {
	t, err := pl.trim(headSpeed, collective)
	if err != nil {
		return 0, 0, err
	}
	return pl.params.Servo.Pulse(t.share), pl.engine.Area(t.opening), nil
}

// Start puts the plant, as it is, into the trim of a head speed, rad/s, and a
// collective, rad, with the crank at angle 0. Errors are those of Trim, and
// leave the plant untouched.
func (pl *Plant) Start(headSpeed, collective float64) error {
	t, err := pl.trim(headSpeed, collective)
	if err != nil {
		return err
	}
	pl.place(t.share, t.engine, t.head)
	pl.inflow = t.inflow
	pl.torque = t.torque
	pl.load = pl.rotor.Torque(t.head, t.pitch, 0, t.inflow)
	return nil
}

func (pl *Plant) trim(head, pitch float64) (trim, error) {
	err := bound.Of("heli").
		Field("HeadSpeed", head, 10, 1000, "rad/s").
		Field("Collective", pitch, -MaxCollective, MaxCollective, "rad").Err()
	if err != nil {
		return trim{}, err
	}
	train := pl.drive.Train()
	hover := pl.rotor.Steady(head, pitch, 0)
	t := trim{head: head, engine: head * train.Ratio, pitch: pitch, inflow: hover.Inflow}
	t.torque = hover.Torque / (train.Ratio * train.Efficiency)
	t.opening = pl.engine.OpeningFor(t.torque, t.engine)
	if t.share, err = pl.shareFor(t); err != nil {
		const rpm = math.Pi / 30
		return trim{}, fmt.Errorf("%.0f rpm on the head at %.1f° of collective: %w",
			head/rpm, pitch*180/math.Pi, err)
	}
	return t, nil
}

// shareFor is the servo's travel for the trim's opening, which may be NaN.
func (pl *Plant) shareFor(t trim) (float64, error) {
	if t.torque > pl.drive.Capacity(t.engine) {
		return 0, ErrSlip
	}
	if t.opening < pl.throttle.at(pl.throttle.closed()) {
		return 0, ErrNoRest
	}
	share, ok := pl.throttle.find(t.opening)
	if !ok {
		return 0, ErrNoPower
	}
	return share, nil
}
