package selftest

import "fmt"

// jumpers are the wires of the self test.
var jumpers = []struct {
	from output
	to   input
}{{pickupOutput, probeInput}, {stickOutput, throttleInput}}

// wires tells of each jumper whether it is right, and what is wrong when not.
func (s *selfTest) wires() (ok bool) {
	wrong := wrongWires(&s.heard)
	for _, sentence := range wrong {
		s.Found("%s", sentence)
	}
	if len(wrong) > 0 {
		s.Next("Put the wires right (D9 to D7, D10 to D8) and run the self test again.")
		return false
	}
	s.Found("Both jumpers are right: D9 to D7, D10 to D8.")
	return true
}

// wrongWires says in plain sentences what is wrong with the jumpers.
func wrongWires(heard *[outputs][inputs]hearing) (wrong []string) {
	at := func(o output, i input) bool { return heard[o][i].clear() }
	for _, i := range []input{probeInput, throttleInput} {
		if at(pickupOutput, i) && at(stickOutput, i) {
			wrong = append(wrong, fmt.Sprintf("Two outputs are joined: both come back at the %v. Pull a jumper at once: outputs that work against each other can spoil the board.", i))
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	if at(pickupOutput, throttleInput) && !at(pickupOutput, probeInput) && at(stickOutput, probeInput) && !at(stickOutput, throttleInput) {
		return []string{"The two jumpers are swapped: the pickup line comes back on the throttle line, the stick line at the probe. Change their ends: D9 to D7, D10 to D8."}
	}
	for _, j := range jumpers {
		if sentence := wrongWire(heard, j.from, j.to); sentence != "" {
			wrong = append(wrong, sentence)
		}
	}
	return wrong
}

func wrongWire(heard *[outputs][inputs]hearing, from output, to input) string {
	right, other := heard[from][to], heard[from][1-to]
	switch {
	case right.clear() && other.clear():
		return fmt.Sprintf("The %v comes back at both inputs: a wire too many joins D7 and D8.", from)
	case right.clear() && right.upside:
		return fmt.Sprintf("The %v comes back upside down at the %v: is there a transistor between? The jumper goes from pin to pin.", from, to)
	case right.clear():
		return ""
	case other.clear():
		return fmt.Sprintf("The %v comes back at the %v; its jumper should go to the %v.", from, 1-to, to)
	case heard[selectOutput][to].clear():
		return fmt.Sprintf("The jumper to the %v is on the %v; it should be on the %v.", to, selectOutput, from)
	case right.got > right.wanted/10:
		return fmt.Sprintf("At the %v something else comes than the %v plays: the jumper is loose, or a wire picks up hum.", to, from)
	}
	return fmt.Sprintf("Nothing of the %v comes back: its jumper to the %v is missing or loose, or is on a wrong pin.", from, to)
}
