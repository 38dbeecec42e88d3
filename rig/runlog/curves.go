package runlog

import "govrig/rig/measure"

// Loop is the frequency response of the loop, governor times machine, at one
// speed setting under one load: what a Bode plot shows.
type Loop struct {
	// Name is that of the load, after that of the setting where there are
	// several, as in the names of the measures.
	Name    string `json:"name"`
	Setting string `json:"setting"`
	// Load is that under which it was measured.
	Load measure.Load `json:"load,omitempty"`
	// Frequency (Hz), Gain (dB) and Phase (degrees) are those of the lines that
	// were measured, one behind the other.
	Frequency []float64 `json:"frequency_hz"`
	Gain      []float64 `json:"gain_db"`
	Phase     []float64 `json:"phase_deg"`
	// Crossover and PhaseCrossover are where the gain is 0 dB and where the phase
	// is −180°, Hz; 0 where that was not within the lines.
	Crossover      float64 `json:"crossover_hz,omitempty"`
	PhaseCrossover float64 `json:"phase_crossover_hz,omitempty"`
	// Governor is that of the governor alone, with how sure it is; nil in older
	// records.
	Governor *Response `json:"governor,omitempty"`
}

// GainPosition is one position of the governor's gain and what was measured
// there.
type GainPosition struct {
	Position int `json:"position"` // counted from where the gain stood at the start
	// Gain is the governor's proportional gain, µs of throttle pulse for
	// 1000 rpm.
	Gain float64 `json:"gain_us_per_krpm"`
	// Phase (degrees) and Margin (dB) are the stability margins, of the worse of
	// two loads. Phase is nil where the loop's gain stays below 1 at all that was
	// measured, Margin where nothing is known of it; of a margin beyond what was
	// measured it is what is sure at the least.
	Phase  *float64 `json:"phase_margin_deg,omitempty"`
	Margin *float64 `json:"gain_margin_db,omitempty"`
	// Dip is that of a load step, %.
	Dip float64 `json:"dip_percent"`
}
