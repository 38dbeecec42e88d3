package hunting

import (
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/response"
)

// Evidence is the numbers that a verdict rests on.
type Evidence struct {
	// Frequency at which the cause would make the speed swing, Hz.
	Frequency measure.Reading
	// Amplitude of the speed, peak, that the cause would make.
	Amplitude measure.Reading
	// Phase (degrees) and Gain (factor) are the margins of the measured loop.
	Phase, Gain measure.Reading
	// Turned is by how much the delay turns the phase at the crossover,
	// degrees.
	Turned measure.Reading
	// Steps is how many of its own steps the throttle moves by.
	Steps measure.Reading
	// AtEnds is the share of the time that the throttle stands at an end.
	AtEnds measure.Reading
	// Lost is how often the pickup lost pulses, and InStep the share of that
	// in step with the swing, 0 to 1.
	Lost, InStep measure.Reading
	// Change is by how much a larger amplitude passed more, dB.
	Change measure.Reading
	// Share is the part of the swing that the throttle makes, 0 to 1 or more.
	Share measure.Reading
}

// Known is what the rig knows besides the speed itself, from the same run or
// one before it. A zero is not known, and rules nothing in or out.
type Known struct {
	// Loop is governor times plant as measured, known over Band.
	Loop loop.Response
	Band loop.Band
	// Plant is throttle to speed, in the units of the logs.
	Plant loop.Response
	// Throttle is the governor's output over the window; Low and High are its
	// ends.
	Throttle  measure.Series
	Low, High float64
	// Gap is the total play between output and throttle, in its unit.
	Gap float64
	// Quantum is the step of the output, in its unit.
	Quantum float64
	// Delay is the dead time of the governor, half of its frame included, s.
	Delay float64
	// Amplitudes is how the governor's response differs at two amplitudes.
	Amplitudes *response.Comparison
	// Lost are the moments at which the pickup lost pulses, s, and Watched
	// whether anybody looked for them.
	Lost    []float64
	Watched bool
}
