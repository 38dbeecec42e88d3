package byhand

import (
	"errors"
	"time"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/openloop"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

// kind is that of every phase.
const kind phase.Kind = "by hand"

// longest is how long the room stays open, s: its record grows by about 50 kB a
// second.
const longest = 3600.0

// room is a governor under a person's hands. It knows no terminal and no page: orders
// come as answers to a question, one after the other, as text.
type room struct {
	t      *execution.Test
	m      *machine.Machine
	orders Orders
	table  *openloop.Stand // while no engine is simulated
	shown  Shown
}

// open plays by the person's orders until one ends it, or nobody gives them any more.
func (r *room) open() error {
	r.still()
	for r.since() < longest {
		text, err := r.t.Ask(execution.Question{Key: "order", Text: Words}, r.phase(step))
		if errors.Is(err, execution.ErrNotAsked) {
			r.t.Sheet.Warn("nobody gives orders any more")
			return nil
		}
		if err != nil {
			return err
		}
		end, wrong := r.orders.Order(text, r.m)
		if wrong != nil {
			r.t.Bench.Tell(wrong.Error())
			continue
		}
		if end {
			return nil
		}
		if err := r.follow(); err != nil {
			return err
		}
	}
	r.t.Sheet.Warn("by hand ends after an hour")
	return nil
}

// since is for how long the room has been open, s.
func (r *room) since() float64 {
	if n := len(r.t.Run.Trace.Time); n > 0 {
		return r.t.Run.Trace.Time[n-1]
	}
	return 0
}

// step is how long an order is played before the next is asked for, s.
const step = 0.1

// follow brings about what is ordered.
func (r *room) follow() error {
	switch before := r.shown; {
	case r.orders.Shown == before:
	case r.orders.Shown == Simulated:
		r.t.Helicopter()
	case r.orders.Shown == Nothing, before == Simulated:
		r.still()
	}
	r.shown = r.orders.Shown
	phases := []rig.Phase{r.phase(step)}
	if r.shown != Simulated {
		phases = r.table.Change(r.orders.Stick, r.turn(), step)
		for i := range phases {
			phases[i].Select = r.selected()
		}
	}
	_, _, err := r.t.Play(phases...)
	return err
}

// still begins with a turntable that stands still.
func (r *room) still() {
	r.table = openloop.New(r.t, float64(r.m.Governor.SpeedLow))
	r.table.Kind = kind
}

// turn is the speed of the pickup pulses of a turntable, rad/s; 0 plays none.
func (r *room) turn() float64 {
	if r.orders.Shown == Turning {
		return r.orders.Speed
	}
	return 0
}

func (r *room) selected() time.Duration {
	g := &r.m.Governor
	if g.Select == machine.SelectNone {
		return 0
	}
	return execution.Seconds(float64(g.SelectLow) + r.orders.Select*float64(g.SelectHigh-g.SelectLow))
}

// phase is some seconds under the orders that stand.
func (r *room) phase(time float64) rig.Phase {
	p := r.table.Phase(r.orders.Stick, r.turn(), time)
	p.Select = r.selected()
	if r.shown == Simulated {
		load := &r.m.LoadStep
		p.Mute, p.Turn = false, 0
		p.Collective = float64(load.CollectiveLow) + r.orders.Load*float64(load.CollectiveHigh-load.CollectiveLow)
		p.Ramp = min(p.Steps, execution.Steps(float64(load.Ramp)))
	}
	return p
}
