package runlog

import (
	"math"
	"math/cmplx"

	"govrig/rig/measure/response"
)

// Response is the governor's own frequency response at one speed setting under one
// load, from the engine's speed to the width of the throttle pulse, with the rig's
// own delay taken out: what a governor is identified from.
type Response struct {
	// Engine is the engine's speed, rpm, and Throttle the throttle pulse there, µs.
	Engine   float64 `json:"engine_rpm"`
	Throttle float64 `json:"throttle_us"`
	// Kind is what a second amplitude showed; empty where none was tried.
	Kind response.Kind `json:"amplitudes,omitempty"`
	// Frequency (Hz), Gain (µs/rpm) and Phase (degrees) of each line, Error the
	// relative standard error of its gain, and Sway its amplitude, rpm.
	Frequency []float64 `json:"frequency_hz"`
	Gain      []float64 `json:"gain_us_per_rpm"`
	Phase     []float64 `json:"phase_deg"`
	Error     []float64 `json:"error"`
	Sway      []float64 `json:"sway_rpm"`
}

// ResponseOf keeps what was measured at an engine speed, rpm, and a throttle pulse, µs.
func ResponseOf(points []response.Point, engine, throttle float64, kind response.Kind) *Response {
	a := &Response{Engine: engine, Throttle: throttle, Kind: kind}
	for _, p := range points {
		a.Frequency = append(a.Frequency, p.Frequency)
		a.Gain, a.Phase = append(a.Gain, p.Gain()), append(a.Phase, p.Phase())
		a.Error, a.Sway = append(a.Error, p.GainError), append(a.Sway, p.Input)
	}
	return a
}

// Points are the lines as they were measured.
func (a *Response) Points() (all []response.Point) {
	for i, f := range a.Frequency {
		if i >= min(len(a.Gain), len(a.Phase), len(a.Error), len(a.Sway)) {
			break // a torn or foreign record
		}
		all = append(all, response.Point{
			Frequency: f, H: cmplx.Rect(a.Gain[i], a.Phase[i]*math.Pi/180), Usable: true,
			GainError: a.Error[i], PhaseError: a.Error[i] * 180 / math.Pi, Input: a.Sway[i], Output: a.Sway[i] * a.Gain[i],
		})
	}
	return all
}
