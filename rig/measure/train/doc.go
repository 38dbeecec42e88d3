// Package train reads trains of pulses: how one that came back compares with
// the one that was played, and what a pickup gives while its shaft is turned.
//
// A pulse is told by its leading edge and its width. A share is a share of one
// turn of the shaft.
package train

// Pulse is one pulse, in s.
type Pulse struct{ Start, Width float64 }

// End is the pulse's trailing edge, s.
func (p Pulse) End() float64 { return p.Start + p.Width }

// Rests are the pauses between pulses: the pulses of the same line, looked at
// upside down.
func Rests(pulses []Pulse) []Pulse {
	var rests []Pulse
	for i := 1; i < len(pulses); i++ {
		end := pulses[i-1].End()
		rests = append(rests, Pulse{end, pulses[i].Start - end})
	}
	return rests
}

// Share is the part of the time, 0 to 1, from the first leading edge to the
// last that lies within pulses; 0 for fewer than two.
func Share(pulses []Pulse) float64 {
	if len(pulses) < 2 {
		return 0
	}
	last := len(pulses) - 1
	sum := 0.0
	for _, p := range pulses[:last] {
		sum += p.Width
	}
	return sum / (pulses[last].Start - pulses[0].Start)
}
