package byhand

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"govrig/sim/machine"
	"govrig/sim/unit"
)

// Shown is what the governor is shown of an engine.
type Shown int

// What a governor can be shown.
const (
	// Nothing: no pickup pulses.
	Nothing Shown = iota
	// Turning: pickup pulses of a given speed, whatever the throttle does.
	Turning
	// Simulated: those of the machine's engine, which follows the throttle.
	Simulated
)

// Orders are what the person's hands hold.
type Orders struct {
	// Stick is a share of the stick's travel, closed to open, Select one of the
	// way between the governor's two select ends.
	Stick, Select float64
	// Shown is what is shown of an engine, Speed its speed when Turning, rad/s, and
	// Load its load when Simulated, a share from light to heavy.
	Shown Shown
	Speed float64
	Load  float64
}

// Words are the orders as a person writes them.
const Words = `stick 40 %   stick low|mid|high   stick up|down 5 %
select 1520 µs   select low|mid|high   select up|down 1 %
pickup off   pickup idle   pickup 12500 rpm   pickup up|down 2 %
engine   load 50 %   load up|down 10 %
rest   end`

// places are the words for places of a travel.
var places = map[string]float64{"low": 0, "mid": 0.5, "high": 1}

// share takes in a share that is given, or moved up or down by.
func share(now float64, words []string) (float64, error) {
	way := 0.0
	switch words[0] {
	case "up":
		way, words = 1, words[1:]
	case "down":
		way, words = -1, words[1:]
	}
	if at, ok := places[strings.Join(words, "")]; ok && way == 0 {
		return at, nil
	}
	percent, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(strings.Join(words, " "), "%")), 64)
	if err != nil || math.IsNaN(percent) {
		return now, fmt.Errorf("%q is no share of a travel: write one such as 40 %%", strings.Join(words, " "))
	}
	if way != 0 {
		percent = 100*now + way*percent
	}
	return max(0, min(1, percent/100)), nil
}

// Order takes in an order; end reports whether it ends the room. An order that is
// none changes nothing.
func (o *Orders) Order(text string, m *machine.Machine) (end bool, err error) {
	words := strings.Fields(strings.ToLower(text))
	if len(words) == 0 {
		return false, nil
	}
	rest := words[1:]
	switch {
	case text == "rest":
		o.Stick, o.Load, o.Shown = 0, 0, Nothing
	case text == "end":
		return true, nil
	case text == "engine":
		o.Stick, o.Load, o.Shown = 0, 0, Simulated
	case len(rest) == 0:
		err = fmt.Errorf("%q is no order; there are:\n%s", text, Words)
	case words[0] == "stick":
		o.Stick, err = share(o.Stick, rest)
	case words[0] == "select":
		err = o.selects(rest, m)
	case words[0] == "pickup":
		err = o.pickup(rest, m)
	case words[0] == "load" && o.Shown != Simulated:
		err = fmt.Errorf("only the simulated engine has a load: order engine first")
	case words[0] == "load":
		o.Load, err = share(o.Load, rest)
	default:
		err = fmt.Errorf("%q is no order; there are:\n%s", text, Words)
	}
	return false, err
}

// selects takes in an order for the select line.
func (o *Orders) selects(words []string, m *machine.Machine) (err error) {
	g := &m.Governor
	if g.Select == machine.SelectNone {
		return fmt.Errorf("by the machine file the governor has no select input")
	}
	var dimension unit.Time
	if width, parse := dimension.Dimension().Parse(strings.Join(words, " ")); parse == nil {
		o.Select = max(0, min(1, (width-float64(g.SelectLow))/float64(g.SelectHigh-g.SelectLow)))
		return nil
	}
	o.Select, err = share(o.Select, words)
	return err
}

// pickup takes in an order for the pickup line.
func (o *Orders) pickup(words []string, m *machine.Machine) error {
	idle := float64(m.Engine.IdleSpeed)
	lowest, highest := idle/2, 1.2*float64(m.Governor.SpeedHigh)
	var dimension unit.Speed
	speed, parse := dimension.Dimension().Parse(strings.Join(words, " "))
	switch {
	case words[0] == "off" && len(words) == 1:
		o.Shown = Nothing
		return nil
	case words[0] == "idle" && len(words) == 1:
		speed = idle
	case words[0] == "up" || words[0] == "down":
		if o.Shown != Turning {
			return fmt.Errorf("no pickup pulses of a given speed are played: order one first, such as pickup idle")
		}
		by, err := share(0, words[1:])
		if err != nil {
			return err
		}
		if words[0] == "down" {
			by = -by
		}
		speed = max(lowest, min(highest, o.Speed*(1+by)))
	case parse != nil:
		return parse
	}
	if speed < lowest || speed > highest {
		return fmt.Errorf("pickup pulses are played of %.0f to %.0f rpm", lowest*30/math.Pi, highest*30/math.Pi)
	}
	o.Shown, o.Speed = Turning, speed
	return nil
}
