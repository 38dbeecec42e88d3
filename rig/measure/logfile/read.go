package logfile

import (
	"fmt"
	"io"
	"strings"
)

// Read reads a log. The columns that a person named are taken, and the others
// found; m may be nil. Errors wrap ErrFormat, or are those of the reader.
func Read(r io.Reader, c Columns, m *Machine) (*Log, error) {
	text, note, err := text(r)
	if err != nil {
		return nil, err
	}
	all, torn, err := lines(text)
	if err != nil {
		return nil, err
	}
	s, err := find(all, torn)
	if err != nil {
		return nil, err
	}
	t, err := tabulate(s, all)
	if err != nil {
		return nil, err
	}
	if t.short != nil && strings.TrimSpace(torn) != "" {
		return nil, t.short
	}
	log, err := t.log(c, m)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrFormat, err)
	}
	log.Notes = append(t.notes(torn), log.Notes...)
	if note != "" {
		log.Notes = append([]string{note}, log.Notes...)
	}
	return log, nil
}

// log finds the columns and puts the rows together.
func (t *tab) log(c Columns, m *Machine) (*Log, error) {
	t.timeAt = -1
	when, times, err := t.theTime(c)
	if err != nil {
		return nil, err
	}
	t.timeAt = when.at
	speed, err := t.theSpeed(c, m)
	if err != nil {
		return nil, err
	}
	throttle, load, err := t.theRest(c, when.at, speed.at)
	if err != nil {
		return nil, err
	}
	out := &Log{Shaft: speed.shaft, Took: t.took(when, speed, throttle, load)}
	for _, x := range []taken{when, speed, throttle, load} {
		if x.at < 0 {
			continue
		}
		left, err := t.sound(x.at)
		if err != nil {
			return nil, err
		}
		if left != "" {
			out.Notes = append(out.Notes, left)
		}
	}
	all := rows(times, t.column(speed.at, speed.unit.times), t.column(throttle.at, throttle.unit.times), t.column(load.at, 1))
	return out, t.finish(out, all)
}

// finish leaves out what is no sample.
func (t *tab) finish(out *Log, all []Row) error {
	all, notes, err := t.present(all)
	out.Notes = append(out.Notes, notes...)
	if err != nil {
		return err
	}
	if len(all) == 0 {
		return fmt.Errorf("it holds no samples")
	}
	if all, notes, err = longest(all, t.lines); err != nil {
		return err
	}
	out.Notes = append(out.Notes, notes...)
	all, notes = apart(all)
	out.Notes = append(out.Notes, notes...)
	out.Rows, notes = clean(all)
	out.Notes = append(out.Notes, notes...)
	return nil
}

// theRest finds the columns of throttle and load, which a log need not have.
func (t *tab) theRest(c Columns, used ...int) (throttle, load taken, err error) {
	free := func(i int) bool {
		for _, u := range used {
			if i == u {
				return false
			}
		}
		return t.kinds[i] == plainNumbers
	}
	throttle, load = taken{at: -1}, taken{at: -1}
	for _, x := range []struct {
		to    *taken
		name  string
		words string
	}{{&throttle, ThrottleName, throttleWords}, {&load, LoadName, loadWords}} {
		at, unit, err := c.place(x.name, t.titles)
		if err != nil {
			return throttle, load, err
		}
		for i := range t.titles {
			if at < 0 && free(i) && t.titles[i].has(x.words) && !t.titles[i].has("cell voltage current temperature") {
				at = i
			}
		}
		if at < 0 {
			continue
		}
		*x.to = taken{at: at, unit: factor{times: 1}}
		if unit == nil {
			unit = t.titles[at].unit
		}
		if unit != nil {
			x.to.unit = *unit
		}
		used = append(used, at)
	}
	return t.asPulse(throttle), load, nil
}

// asPulse turns a throttle in ms into µs; in % it stays as it is.
func (t *tab) asPulse(x taken) taken {
	if x.at < 0 {
		return x
	}
	switch level := t.level(x.at); {
	case x.unit.name == "ms", x.unit.name == "" && level < 3 && level > 0.5:
		x.unit = factor{throttle, "ms", 1000}
	default:
		x.unit.times = 1
	}
	return x
}

// took says what was taken for what.
func (t *tab) took(when, speed, throttle, load taken) (took []string) {
	say := func(what string, x taken, unit string) {
		if x.at < 0 {
			return
		}
		line := fmt.Sprintf("%s: column %q", what, t.titles[x.at].whole)
		if unit != "" {
			line += ", in " + unit
		}
		if x.said != "" {
			line += " (" + x.said + ")"
		}
		took = append(took, line)
	}
	say("time", when, when.unit.name)
	what := "speed"
	if speed.shaft != Unknown {
		what += " of the " + string(speed.shaft)
	}
	say(what, speed, speed.unit.name)
	say("throttle", throttle, throttle.unit.name)
	say("load", load, load.unit.name)
	return took
}
