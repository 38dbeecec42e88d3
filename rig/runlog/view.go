package runlog

import "govrig/rig/measure"

// View is a stretch of a run that is worth a picture, with all that the picture
// shows beside the samples: whoever draws it computes nothing.
type View struct {
	// Title says what is seen, Setting at which speed setting.
	Title   string `json:"title"`
	Setting string `json:"setting,omitempty"`
	// From and To bound it, s of the run; Origin is where its time counts from,
	// and Axis says what that is.
	From   float64 `json:"from_s"`
	To     float64 `json:"to_s"`
	Origin float64 `json:"origin_s"`
	Axis   string  `json:"axis"`
	// Wanted is the wanted head speed, rpm; 0 is none.
	Wanted float64 `json:"wanted_rpm,omitempty"`
	// Engine has the engine's speed, geared down, drawn beside the head's.
	Engine bool `json:"engine,omitempty"`
	// Minor may be left out of a print; Wide wants the width of the page.
	Minor bool `json:"minor,omitempty"`
	Wide  bool `json:"wide,omitempty"`
	// Beyond is the ground that the speed had to keep off.
	Beyond []Ground `json:"beyond,omitempty"`
	// Marks are moments worth a mark.
	Marks []Mark `json:"marks,omitempty"`
	// Notes are the measures that it shows.
	Notes []Note `json:"notes,omitempty"`
}

// Ground is a rectangle of time, s from the view's origin, and head speed, rpm. An
// end that is nil is without end.
type Ground struct {
	From *float64 `json:"from_s,omitempty"`
	To   *float64 `json:"to_s,omitempty"`
	Low  *float64 `json:"low_rpm,omitempty"`
	High *float64 `json:"high_rpm,omitempty"`
}

// Mark is a moment, s from the view's origin: an event with its label, or where
// Speed is not 0 a point of the head speed's curve, rpm.
type Mark struct {
	At    float64 `json:"at_s"`
	Speed float64 `json:"speed_rpm,omitempty"`
	Label string  `json:"label,omitempty"`
}

// Note is a measure with a word for it.
type Note struct {
	Word string      `json:"word"`
	Key  measure.Key `json:"key"`
}

// Edge is an end of a Ground.
func Edge(v float64) *float64 { return &v }

// Outside is the ground on both sides of a band of head speed, from one time to
// another.
func Outside(from, to *float64, middle, half float64) []Ground {
	return []Ground{{From: from, To: to, Low: Edge(middle + half)}, {From: from, To: to, High: Edge(middle - half)}}
}
