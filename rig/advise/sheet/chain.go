package sheet

import (
	"math"
	"math/big"

	"govrig/sim/machine"
)

// Chain is the exact way from the head to the pickup's pulses. Speeds are
// fractions of whole numbers, so nothing is lost on the way there and back.
type Chain struct {
	// Driven and Driver are the products of tooth counts; engine over head
	// speed is Driven/Driver.
	Driven, Driver int64
	PulsesPerTurn  int
}

// Engine speed at a head speed, both in rpm.
func (c Chain) Engine(head *big.Rat) *big.Rat {
	return new(big.Rat).Mul(head, big.NewRat(c.Driven, c.Driver))
}

// Pulses per second at an engine speed in rpm.
func (c Chain) Pulses(engine *big.Rat) *big.Rat {
	return new(big.Rat).Mul(engine, big.NewRat(int64(c.PulsesPerTurn), 60))
}

// Head speed in rpm that makes so many pulses per second.
func (c Chain) Head(pulses *big.Rat) *big.Rat {
	turns := new(big.Rat).Mul(pulses, big.NewRat(60, int64(c.PulsesPerTurn)))
	return turns.Mul(turns, big.NewRat(c.Driver, c.Driven))
}

// ratRPM is a speed in rad/s as the number of rpm that was meant: to the
// nearest millionth, which undoes the rounding of π.
func ratRPM(speed float64) *big.Rat {
	return big.NewRat(int64(math.Round(speed*30/math.Pi*1e6)), 1e6)
}

// settable is the speed in rpm that the governor can be set to nearest to a
// wanted one: a whole number of its steps, within its range.
func settable(g machine.Governor, wanted *big.Rat) *big.Rat {
	step := ratRPM(float64(g.SpeedStep))
	if step.Sign() == 0 {
		step = big.NewRat(1, 1e6)
	}
	steps := func(speed *big.Rat) *big.Rat { return new(big.Rat).Quo(speed, step) }
	count := floor(new(big.Rat).Add(steps(wanted), big.NewRat(1, 2)))
	if most := floor(steps(ratRPM(float64(g.SpeedHigh)))); count.Cmp(most) > 0 {
		count = most
	}
	if least := ceiling(steps(ratRPM(float64(g.SpeedLow)))); count.Cmp(least) < 0 {
		count = least
	}
	return new(big.Rat).Mul(new(big.Rat).SetInt(count), step)
}

func floor(r *big.Rat) *big.Int { return new(big.Int).Div(r.Num(), r.Denom()) }

func ceiling(r *big.Rat) *big.Int {
	down := floor(new(big.Rat).Neg(r))
	return down.Neg(down)
}
