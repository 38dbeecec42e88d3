package pulse

import (
	"math"
	"slices"

	"govrig/rig/measure"
)

// StepKind is what widths tell of the step in which they move.
type StepKind string

const (
	// Staircase: the widths stand on the even levels of a staircase.
	Staircase StepKind = "staircase"
	// Finer: there were widths enough to show a staircase, and there is none:
	// the step is at or below what could have been seen.
	Finer StepKind = "finer"
	// Untold: the widths were too few, or went too evenly, to tell.
	Untold StepKind = "cannot tell"
)

// Steps is what widths tell of the step in which they move.
type Steps struct {
	Kind StepKind
	// Step is the step of a staircase, s. For the other kinds it is what the
	// step is at or below: no two widths lie closer than one step. 0 is not
	// known.
	Step float64
	// Levels is how many different widths were seen.
	Levels int
}

const (
	fewestWidths = 12  // different ones, to tell a step
	mostWidths   = 250 // looked at
	finest       = 8.0 // resolutions: the finest step that can be seen
	sharp        = 0.7 // share of the widths' phasors that a staircase leaves
	// unlikely is the exponent of the chance, e^−unlikely, with which widths
	// of no step look like a staircase anywhere in the range searched.
	unlikely = 10.0
)

// StepsOf finds the step, s, in which widths move, in the order in which they
// came: the largest of which their differences are whole multiples, each width
// known to a resolution of the timer either way.
//
// The differences are whole multiples of q when the phasors e^(2πi·width/q)
// agree; phasors of n widths of no such step agree by a share r of their
// number with a chance of e^(−nr²) (Rayleigh's test of circular data, from
// memory). Widths that went up in a straight line, one equal stride a pulse,
// agree as well, and are no staircase: one is only called so when the strides
// are several, or when it was stood upon.
func StepsOf(widths []float64, resolution float64) Steps {
	levels := levels(widths, 2*resolution)
	s := Steps{Kind: Untold, Levels: len(levels)}
	if len(levels) < 2 {
		return s
	}
	s.Step = slices.Min(differences(levels))
	if len(levels) < fewestWidths {
		return s
	}
	at, tried := distinct(widths, resolution), 0.0
	step := 0.0
	span := levels[len(levels)-1] - levels[0]
	for rate := 4 / span; rate < 1/(finest*resolution); rate += 0.2 / span {
		tried++
		r := agreement(at, rate)
		if r < sharp || float64(len(levels))*r*r < unlikely {
			continue
		}
		step = 1 / finer(at, sharpest(at, rate, 0.2/span), 0.2/span, 1/(finest*resolution))
		break
	}
	if step > 0 {
		if step = refine(levels, step); !stoodUpon(widths, step) {
			return s
		}
		return Steps{Kind: Staircase, Step: step, Levels: len(levels)}
	}
	if float64(len(levels))*sharp*sharp > unlikely+math.Log(tried) {
		s.Kind, s.Step = Finer, math.Min(s.Step, finest*resolution)
	}
	return s
}

// Reading is the step as a number: that of a staircase, or what it is at or
// below, which its detail says.
func (s Steps) Reading() measure.Reading {
	switch {
	case s.Kind == Staircase:
		return measure.Read(s.Step)
	case s.Kind == Finer:
		return measure.Read(s.Step).With("at or below: no staircase was seen in %d widths", s.Levels)
	case s.Levels < fewestWidths:
		return measure.Missing("the widths took only %d values, too few to tell a step", s.Levels)
	}
	return measure.Missing("the widths went too evenly, or were too few (%d), to tell a step; it is at most %.3g µs", s.Levels, 1e6*s.Step)
}
