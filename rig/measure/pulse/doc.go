// Package pulse reads a line of servo pulses: the rate of its frames, the step
// of its widths, and how one line follows another.
//
// There is no formal standard for such lines; frames of 14 to 22 ms and widths
// about 1.5 ms are common practice, no source. Straight lines are ordinary
// least squares.
package pulse
