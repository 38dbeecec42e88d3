package governor

import (
	"errors"
	"fmt"
	"math"
)

// Stored is a speed that is stored in a governor, with the select width that picks it.
type Stored struct{ Width, Speed float64 }

// Params describes a stand-in governor. Speeds are engine speeds in rad/s,
// times in seconds, shares run from 0 to 1.
type Params struct {
	// TickRate is the rate of the ticks that edges are stamped with, 1/s.
	TickRate float64
	// PulsesPerTurn is how many pickup pulses make one crank revolution.
	PulsesPerTurn int
	// PickupLow makes the falling edge of the pickup line the one that counts.
	PickupLow bool

	// MaxActive is the longest share of a pulse's spacing that the pickup line
	// may be active; longer pulses are not counted. It is how a governor tells
	// a line of the wrong polarity. 0 counts every pulse.
	MaxActive float64
	// BothEdges counts the trailing edge of a pulse as well, so that it reads
	// twice the speed.
	BothEdges bool
	// DeafAbove is the pickup speed, in rad/s of the engine, above which pulses
	// are not counted; 0 is none.
	DeafAbove float64

	// ThrottleClosed and ThrottleOpen are the servo pulse widths of closed and
	// full throttle, on the stick line and on the throttle line alike.
	ThrottleClosed, ThrottleOpen float64
	// FrameRate is the rate of throttle pulses, 1/s. The controller runs once
	// a frame.
	FrameRate float64
	// OutputStep is the step of the throttle pulse width.
	OutputStep float64

	// SelectLow and SelectHigh are the select widths of the slowest and the
	// fastest speed setting.
	SelectLow, SelectHigh float64
	// SpeedLow and SpeedHigh are those settings.
	SpeedLow, SpeedHigh float64
	// SpeedStep is the step of the speed setting; 0 is none.
	SpeedStep float64

	// Dialled is the speed that is set at the governor itself, which then has no
	// select input; 0 is none.
	Dialled float64
	// Stored are the settings of which the select pulse picks the nearest; nil lets
	// the speed follow the pulse.
	Stored []Stored

	// ArmOn and ArmOff are the shares of stick travel at which governing is
	// taken up and let go.
	ArmOn, ArmOff float64
	// ArmSpeed is the engine speed below which governing is not taken up.
	ArmSpeed float64
	// SpoolRate is how fast the set speed rises after arming, rad/s².
	SpoolRate float64

	// Gain is the proportional gain: share of throttle travel per rad/s of
	// speed error.
	Gain float64
	// IntegralTime is the integral time of the PI controller; 0 leaves the
	// integral out.
	IntegralTime float64

	// GainRise is by what share of itself the gain has grown at full throttle; it
	// grows evenly with the throttle that is ordered.
	GainRise float64
	// DerivativeTime is that of a derivative of the measured speed, and
	// DerivativeLag the time constant of its filter; 0 is none.
	DerivativeTime, DerivativeLag float64
	// FeedForward is the share of throttle that a share of stick adds at once.
	FeedForward float64
	// DeadBand is the speed error, either way, within which the law does nothing.
	DeadBand float64

	// DeadTime is how old the speed is that the law sees, s, and DeadTurns by how
	// many turns of the crankshaft it is older still. With both 0 it is the mean
	// speed since the frame before.
	DeadTime, DeadTurns float64
	// MeasureLag is the time constant of a first-order lag on the measured speed.
	MeasureLag float64

	// KnobReversed makes the gain fall as its knob is turned up.
	KnobReversed bool
	// WindUp lets the integral run on while the output is at an end.
	WindUp bool

	// BelievesSlow takes pulses that go missing for a slow engine.
	BelievesSlow bool
	// LossOpen leaves the throttle as it is when the pickup has failed.
	LossOpen bool
	// LossFull opens it all the way instead: it takes the engine for one that
	// stands.
	LossFull bool
	// LossFall is the time in which the throttle closes then, from full; 0 closes
	// it at once.
	LossFall float64
	// LossTime without a pickup pulse counts as a failed pickup. The throttle
	// then closes and stays closed until the stick has been below ArmOff.
	LossTime float64
	// StickLoss is how long the stick line may be silent; then the stick counts as
	// low. 0 is the usual time; StickKept goes on with the last pulse for ever.
	StickLoss float64
	StickKept bool
}

// Validate tells what is wrong with p, or nil.
func (p Params) Validate() error {
	var errs []error
	check := func(ok bool, what string, value float64) {
		if !ok || math.IsNaN(value) || math.IsInf(value, 0) {
			errs = append(errs, fmt.Errorf("%s cannot be %g", what, value))
		}
	}
	check(p.TickRate > 0, "TickRate", p.TickRate)
	check(p.PulsesPerTurn > 0, "PulsesPerTurn", float64(p.PulsesPerTurn))
	check(p.MaxActive >= 0 && p.MaxActive < 1, "MaxActive", p.MaxActive)
	check(p.DeafAbove >= 0, "DeafAbove", p.DeafAbove)
	check(p.ThrottleClosed > 0, "ThrottleClosed", p.ThrottleClosed)
	check(p.ThrottleOpen > 0 && p.ThrottleOpen != p.ThrottleClosed, "ThrottleOpen", p.ThrottleOpen)
	check(p.FrameRate > 0, "FrameRate", p.FrameRate)
	check(p.OutputStep >= 0, "OutputStep", p.OutputStep)
	check(p.SelectHigh != p.SelectLow, "SelectHigh", p.SelectHigh)
	check(p.SpeedLow > 0, "SpeedLow", p.SpeedLow)
	check(p.SpeedHigh >= p.SpeedLow, "SpeedHigh", p.SpeedHigh)
	check(p.SpeedStep >= 0, "SpeedStep", p.SpeedStep)
	check(p.Dialled >= 0, "Dialled", p.Dialled)
	for _, s := range p.Stored {
		check(s.Width > 0, "Stored.Width", s.Width)
		check(s.Speed > 0, "Stored.Speed", s.Speed)
	}
	check(p.ArmOff >= 0 && p.ArmOff <= p.ArmOn, "ArmOff", p.ArmOff)
	check(p.ArmOn <= 1, "ArmOn", p.ArmOn)
	check(p.ArmSpeed >= 0, "ArmSpeed", p.ArmSpeed)
	check(p.SpoolRate > 0, "SpoolRate", p.SpoolRate)
	check(p.Gain >= 0, "Gain", p.Gain)
	check(p.IntegralTime >= 0, "IntegralTime", p.IntegralTime)
	check(p.GainRise > -1, "GainRise", p.GainRise)
	check(p.DerivativeTime >= 0, "DerivativeTime", p.DerivativeTime)
	check(p.DerivativeLag > 0 || p.DerivativeLag == 0 && p.DerivativeTime == 0, "DerivativeLag", p.DerivativeLag)
	check(p.FeedForward >= 0 && p.FeedForward <= 1, "FeedForward", p.FeedForward)
	check(p.DeadBand >= 0, "DeadBand", p.DeadBand)
	check(p.DeadTime >= 0, "DeadTime", p.DeadTime)
	check(p.DeadTurns >= 0, "DeadTurns", p.DeadTurns)
	check(p.MeasureLag >= 0, "MeasureLag", p.MeasureLag)
	check(p.LossFall >= 0, "LossFall", p.LossFall)
	check(p.StickLoss >= 0, "StickLoss", p.StickLoss)
	check(p.LossTime > 0, "LossTime", p.LossTime)
	return errors.Join(errs...)
}
