package selftest

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure/train"
	"govrig/rig/phase"
)

// output is one of the lines that the board plays.
type output int

const (
	pickupOutput output = iota
	stickOutput
	selectOutput
	outputs
)

// input is one of the lines that the board times.
type input int

const (
	probeInput input = iota
	throttleInput
	inputs
)

// String names an output with its pin.
func (o output) String() string {
	return [...]string{"pickup line (D9)", "stick line (D10)", "select line (D11)"}[o]
}

// String names an input with its pin.
func (i input) String() string {
	return [...]string{"pickup probe (D7)", "throttle line (D8)"}[i]
}

// settings are those of a board that listens at the input.
func (i input) settings() rig.Settings { return rig.Settings{Probe: i == probeInput} }

const (
	listenTime  = 1.0    // s, for each output
	listenRate  = 100.0  // pickup pulses a second
	pickupWidth = 500e-6 // s
	stickWidth  = 1500e-6
	selectWide  = 1300e-6
	servoFrame  = 22e-3
)

// phase plays the output and nothing else.
func (o output) phase(in input) rig.Phase {
	p := rig.Phase{
		Key: phase.Key{Kind: phase.Kind(o.String() + " at"), Of: in.String()}, Steps: execution.Steps(listenTime),
		Turn: listenRate * 2 * math.Pi, Mute: o != pickupOutput,
	}
	switch o {
	case stickOutput:
		p.Stick = execution.Seconds(stickWidth)
	case selectOutput:
		p.Select = execution.Seconds(selectWide)
	}
	return p
}

// wanted are the pulses that should have come back of those that were played:
// of the pickup line those that the board says it has sent, of the others a
// train from the first that came on.
func (o output) wanted(part *execution.Trace) []execution.Pulse {
	switch o {
	case pickupOutput:
		return sentPulses(part)
	case stickOutput:
		return framesFrom(part.Pulses, stickWidth)
	}
	return framesFrom(part.Pulses, selectWide)
}

// edgeOfPhase is left out at either end of a phase, s: pulses on their way.
const edgeOfPhase = 0.03

func sentPulses(part *execution.Trace) (wanted []execution.Pulse) {
	from, to := part.Time[0]+edgeOfPhase, part.Time[len(part.Time)-1]-edgeOfPhase
	for _, start := range part.Sent {
		if start > from && start < to {
			wanted = append(wanted, execution.Pulse{Start: start, Width: pickupWidth})
		}
	}
	return wanted
}

// framesFrom are the servo pulses of a phase from the first of the right width
// on, the right way up or upside down.
func framesFrom(got []execution.Pulse, width float64) []execution.Pulse {
	n := int(math.Floor((listenTime - 2*edgeOfPhase) / servoFrame))
	for _, p := range got {
		if math.Abs(p.Width-width) < matchWithin {
			return train.Even(p.Start, servoFrame, width, n)
		}
	}
	for _, p := range train.Rests(got) {
		if math.Abs(p.Width-width) < matchWithin {
			return train.Even(p.Start, servoFrame, width, n)
		}
	}
	return train.Even(0, servoFrame, width, n)
}
