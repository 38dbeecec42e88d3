package bench

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"govrig/sim/machine"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
	"govrig/sim/unit"
)

// word is one thing that can be typed. do gives a sentence on how it stands
// now.
type word struct {
	name, more, does string
	do               func(b *Bench, more []string) (string, error)
}

// words are all of them; what one joins takes the place of what was joined.
var words = []word{
	{"governor", "", "the governor on all its lines, switched on anew; so it begins", (*Bench).governor},
	{"jumpers", "", "the self-test's two jumpers: D9 to D7, D10 to D8", (*Bench).jumpers},
	{"jumpers", "D9-D8 …", "jumpers as you say: from D9, D10 or D11 to D7 or D8", nil},
	{"sensor", "", "the machine's pickup on the probe (D7), its shaft at rest", (*Bench).atRest},
	{"turn", "1500 rpm", "turns that shaft as a drill or a starter does, until stop", (*Bench).turn},
	{"turn", "10", "turns it by hand through so many turns, about one a second", nil},
	{"stop", "", "stops the shaft", (*Bench).atRest},
	{"nothing", "", "takes everything off", (*Bench).nothing},
	{"restart", "", "switches the governor off for a second and on again", (*Bench).restart},
	{"gain", "up", "turns the governor's gain up, or down, by a click", (*Bench).gain},
}

// Words tells what can be typed, in lines.
func Words() string {
	var b strings.Builder
	b.WriteString("What can be typed, each with Enter:\n")
	for _, w := range words {
		fmt.Fprintf(&b, "  %-17s %s\n", strings.TrimSpace(w.name+" "+w.more), w.does)
	}
	return b.String()
}

// Do does what a line says and gives the answer to it.
func (b *Bench) Do(line string) string {
	typed := strings.Fields(strings.ToLower(line))
	if len(typed) == 0 {
		return ""
	}
	for _, w := range words {
		if w.name != typed[0] || w.do == nil {
			continue
		}
		answer, err := w.do(b, typed[1:])
		if err != nil {
			return "Not done: " + err.Error() + "."
		}
		return answer
	}
	return fmt.Sprintf("%q is not known here. ", typed[0]) + strings.TrimSuffix(Words(), "\n")
}

// join joins w in place of what was there.
func (b *Bench) join(w emulator.Wires, answer string) (string, error) {
	return answer, b.Board.Rewire(func(_ int64, now *emulator.Wires) { *now = w })
}

func (b *Bench) governor([]string) (string, error) {
	var err error
	failed := b.Board.Rewire(func(tick int64, w *emulator.Wires) {
		var g *governor.Governor
		if g, err = governor.New(b.Machine.GovernorParams(emulator.TickHz), tick); err == nil {
			*w = emulator.Wires{Governor: g}
		}
	})
	return "The governor is on its lines.", errors.Join(err, failed)
}

func (b *Bench) nothing([]string) (string, error) {
	return b.join(emulator.Wires{}, "Nothing is joined.")
}

var (
	jumperFrom = map[string]governor.Line{"d9": governor.Pickup, "d10": governor.Stick, "d11": governor.Select}
	jumperTo   = map[string]board.Input{"d7": board.Probe, "d8": board.Throttle}
)

func (b *Bench) jumpers(more []string) (string, error) {
	if len(more) == 0 {
		more = []string{"d9-d7", "d10-d8"}
	}
	var w emulator.Wires
	for _, pins := range more {
		from, to, _ := strings.Cut(pins, "-")
		line, isOutput := jumperFrom[from]
		input, isInput := jumperTo[to]
		if !isOutput || !isInput {
			return "", fmt.Errorf("%q is no jumper from D9, D10 or D11 to D7 or D8, such as D9-D7", pins)
		}
		w.Jumpers = append(w.Jumpers, board.Jumper{From: line, To: input})
	}
	return b.join(w, "Jumpers are in: "+strings.ToUpper(strings.Join(more, ", "))+"; nothing else is joined.")
}

func (b *Bench) atRest([]string) (string, error) {
	return b.sensor("The pickup is on the probe, the shaft at rest")
}

func (b *Bench) sensor(answer string, speeds ...turned.Stretch) (string, error) {
	s, err := turned.New(b.Machine.PickupParams(), b.Machine.Pickup.Active == machine.Low, speeds...)
	if err != nil {
		return "", err
	}
	level := map[bool]string{true: "high", false: "low"}[s.Idle()]
	return b.join(emulator.Wires{Turned: s}, answer+"; the line begins "+level+".")
}

// turn turns the shaft by hand, or at a speed.
func (b *Bench) turn(more []string) (string, error) {
	said := strings.Join(more, " ")
	if turns, err := strconv.Atoi(said); err == nil && turns > 0 && turns <= 1000 {
		return b.sensor(fmt.Sprintf("The shaft is turned by hand, %d turns", turns), turned.ByHand(turns)...)
	}
	speed, err := unit.Speed(0).Dimension().Parse(said)
	if err != nil || speed < 1 || speed > 3000 {
		return "", errors.New("turn takes a speed, such as 1500 rpm, or a number of turns by hand, such as 10")
	}
	return b.sensor("The shaft is turned at "+said, turned.Stretch{Time: 1, Speed: speed})
}

// onGovernor does something to the stand-in governor that is joined.
func (b *Bench) onGovernor(answer string, do func(*governor.Governor)) (string, error) {
	err := errors.New("no governor is joined")
	failed := b.Board.Rewire(func(_ int64, w *emulator.Wires) {
		if g, joined := w.Governor.(*governor.Governor); joined {
			do(g)
			err = nil
		}
	})
	return answer, errors.Join(err, failed)
}

func (b *Bench) restart([]string) (string, error) {
	return b.onGovernor("The governor is off, and on again in a second.", func(g *governor.Governor) { g.Restart(1) })
}

func (b *Bench) gain(more []string) (string, error) {
	clicks := map[string]float64{"up": 1, "down": -1}[strings.Join(more, " ")]
	if clicks == 0 {
		return "", errors.New("gain goes up or down")
	}
	return b.onGovernor("The gain is turned a click "+more[0]+".", func(g *governor.Governor) { g.Turn(clicks) })
}
