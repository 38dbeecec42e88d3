package table

import (
	"errors"
	"fmt"
	"io"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/logfile"
	"govrig/sim/machine"
)

const perTurn = 30 / math.Pi // rpm, from rad/s

// about is what the machine file says of the speeds that a log can hold.
func about(m *machine.Machine) *logfile.Machine {
	if m == nil {
		return nil
	}
	out := &logfile.Machine{Ratio: m.Ratio(), Pulses: m.Governor.PulsesPerTurn}
	for _, s := range m.Speeds {
		out.Heads = append(out.Heads, float64(s.HeadSpeed)*perTurn)
	}
	return out
}

// atHead turns the rows into speeds of the head where the machine file says how.
func atHead(log *logfile.Log, m *machine.Machine) {
	if m == nil || log.Shaft != logfile.Engine {
		return
	}
	for i := range log.Rows {
		log.Rows[i].Speed /= m.Ratio()
	}
}

// Flown is the event of a log, as a head speed.
type Flown struct {
	Speed   measure.Series // rpm, up to where the event ends
	Event   float64        // s
	Setting machine.SpeedSetting
	Notes   []string
}

// Event reads a log for the event in it: that of the options, or the deepest dip,
// or where there is none the highest rise.
// The options must have a machine, and the log be near one of its settings.
func Event(r io.Reader, o Options) (*Flown, error) {
	log, err := logfile.Read(r, o.Columns, about(o.Machine))
	if err != nil {
		return nil, err
	}
	atHead(log, o.Machine)
	note, err := o.setting(log.Rows)
	if err != nil {
		return nil, err
	}
	if o.near == nil {
		return nil, errors.New(note)
	}
	o.dips = true
	f := &Flown{Setting: *o.near, Notes: append(append(log.Took, log.Notes...), note)}
	if note = o.find(log.Rows); note != "" {
		f.Notes = append(f.Notes, note)
	}
	if o.Event == nil {
		return nil, errors.New("nothing drives the speed off in this log: say when the load changed with --event")
	}
	f.Event = *o.Event
	until := f.Event + longestEvent
	if o.Until != nil {
		until = *o.Until
	}
	for _, r := range log.Rows {
		if r.Time < until {
			f.Speed.T, f.Speed.Y = append(f.Speed.T, r.Time), append(f.Speed.Y, r.Speed)
		}
	}
	return f, nil
}

// farthest is how far the flown speed may lie from a wanted one and still be that
// setting.
const farthest = 0.12

// setting finds the speed setting that was flown: the one that was named, or the
// nearest.
func (o *Options) setting(rows []logfile.Row) (note string, err error) {
	if o.Speed != "" {
		s, ok := o.Machine.Speed(o.Speed)
		if !ok {
			return "", fmt.Errorf("the machine file has no speed setting %q", o.Speed)
		}
		return o.take(s), nil
	}
	level := flownAt(rows)
	var near *machine.SpeedSetting
	for i, s := range o.Machine.Speeds {
		if near == nil || math.Abs(level-float64(s.HeadSpeed)*perTurn) < math.Abs(level-float64(near.HeadSpeed)*perTurn) {
			near = &o.Machine.Speeds[i]
		}
	}
	if near == nil || math.Abs(level/(float64(near.HeadSpeed)*perTurn)-1) > farthest {
		return fmt.Sprintf("the head turns at %.4g rpm, which is near no speed setting of the machine file: its limits are not looked at; --speed names a setting", level), nil
	}
	return o.take(*near), nil
}

// take takes wanted speed and limits of a setting, where no flag gave others.
func (o *Options) take(s machine.SpeedSetting) string {
	wanted := float64(s.HeadSpeed) * perTurn
	o.near = &s
	if o.Declared == 0 {
		o.Declared = wanted
	}
	limits := map[string]*measure.Limit{}
	percent := func(name string, low, high *float64) {
		if low != nil || high != nil {
			limits[name] = &measure.Limit{Min: low, Max: high}
		}
	}
	l := s.Limits
	part := func(x *float64, times float64) *float64 {
		if x == nil {
			return nil
		}
		v := *x * times
		return &v
	}
	percent(SteadyBand, nil, part((*float64)(l.Band), 100))
	percent(PeakDeviation, part((*float64)(l.Dip), -100), part((*float64)(l.Overshoot), 100))
	percent(RecoveryTime, nil, part((*float64)(l.RecoveryTime), 1))
	if l.SpeedError != nil {
		e := float64(*l.SpeedError)
		limits[GovernedSpeed] = measure.Between(wanted*(1-e), wanted*(1+e))
	}
	for name, limit := range o.Limits {
		limits[name] = limit
	}
	o.Limits = limits
	return fmt.Sprintf("speeds are those of the head; setting %q of the machine file, %.5g rpm, gives limits and the speed by which percentages divide", s.Name, wanted)
}
