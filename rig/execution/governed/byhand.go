package governed

import (
	"errors"
	"fmt"

	"govrig/rig/execution"
	"govrig/rig/phase"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// seekSet looks at what the setting gives that stands in the governor: dialled there,
// or stored and picked by the select pulse. Where g.Turns, the person is told which
// way and how far to turn it, until the wanted speed is held.
func (g *Governor) seekSet(t *execution.Test, s *Search) (part execution.Trace, held bool, err error) {
	if err = g.dial(t); err != nil {
		return part, false, err
	}
	for range mostTries {
		s.Tries = nil
		width, _ := s.Next()
		if part, held, err = g.try(t, s, width); err != nil || !held {
			return part, held, err
		}
		off := 100 * (s.Best().Speed/s.Wanted - 1)
		if !g.Turns || SpeedErrorLimit(&g.Machine.Governor, g.Setting, g.Engine()).Met(off) {
			break
		}
		if turned, err := g.turn(t, s); err != nil || !turned {
			return part, held, err
		}
	}
	return part, held, nil
}

// dial has the speed of the setting set at a governor that has no select input, where
// there are several to choose from.
func (g *Governor) dial(t *execution.Test) error {
	if g.Machine.Governor.Select != machine.SelectNone {
		return nil
	}
	if dial, ok := t.Bench.StandIn.(governor.Dial); ok {
		dial.Dial(g.Engine())
		return nil
	}
	if len(g.Machine.Speeds) == 1 {
		return nil
	}
	_, err := t.Ask(execution.Question{
		Key: "setting",
		Text: fmt.Sprintf("Set the governor to %.0f rpm of the engine, for %s (%.0f rpm at the head), and say done",
			g.Declared(), g.Setting.Name, g.Declared()/g.Machine.Ratio()),
		Answers: []string{"done"},
	}, g.Phase(phase.Of(phase.Waiting), 1))
	if errors.Is(err, execution.ErrNotAsked) {
		t.Sheet.Warn("nobody was there to set the governor to %s: it was measured as it stood", g.Setting.Name)
		return nil
	}
	return err
}

// turn asks the person to turn the setting, and reports whether that was done.
func (g *Governor) turn(t *execution.Test, s *Search) (turned bool, err error) {
	ratio := g.Machine.Ratio()
	answer, err := t.Ask(execution.Question{
		Key: "turn",
		Text: fmt.Sprintf("%s: the head turns at %.0f rpm, and %.0f are wanted. Turn the speed setting in the governor %s and say turned, or keep it",
			g.Setting.Name, s.Best().Speed/ratio, s.Wanted/ratio, turnBy(s)),
		Answers: []string{"turned", "keep"}, Default: "keep",
	}, g.Phase(phase.Of(phase.Waiting), 1))
	return answer == "turned", err
}

// turnBy says which way and how far a setting is to be turned, by what it gives.
func turnBy(s *Search) string {
	by, way := s.Wanted-s.Best().Speed, "up"
	if by < 0 {
		by, way = -by, "down"
	}
	return fmt.Sprintf("%s by %.1f %%, %.0f rpm of the engine", way, 100*by/s.Best().Speed, by)
}
