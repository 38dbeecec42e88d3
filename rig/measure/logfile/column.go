package logfile

import (
	"fmt"
	"strings"
)

// The quantities by the names under which a person names a column.
const (
	TimeName     = "time_s"
	SpeedName    = "speed_rpm"
	ThrottleName = "throttle_us"
	LoadName     = "load"
)

var named = []struct {
	name string
	of   quantity
}{{TimeName, moment}, {SpeedName, speed}, {ThrottleName, throttle}, {LoadName, load}}

// Columns says which column of the file a quantity is, where a person named it:
// by its heading, with a unit in brackets behind it where the file has none.
type Columns map[string]string

// ParseColumn reads "speed_rpm=Engine RPM" or "speed_rpm=n [Hz]".
func (c Columns) ParseColumn(text string) error {
	name, heading, ok := strings.Cut(text, "=")
	heading = strings.TrimSpace(heading)
	known := false
	for _, n := range named {
		known = known || n.name == name
	}
	if !ok || heading == "" || !known {
		return fmt.Errorf("a column is given as %s=NAME, %s=NAME, %s=NAME or %s=NAME, not %q",
			TimeName, SpeedName, ThrottleName, LoadName, text)
	}
	if _, twice := c[name]; twice {
		return fmt.Errorf("the column for %s is given twice", name)
	}
	c[name] = heading
	return nil
}

// place finds the column that a person named, or one that has the quantity's own
// name. Without one it gives −1.
func (c Columns) place(quantity string, titles []titled) (at int, unit *factor, err error) {
	heading, ok := c[quantity]
	if !ok {
		at, err = match(quantity, titles)
		return at, nil, err
	}
	at, err = match(heading, titles)
	if at < 0 && err == nil && strings.HasSuffix(heading, "]") {
		if open := strings.LastIndexByte(heading, '['); open > 0 {
			if u, known := unitOf(heading[open+1 : len(heading)-1]); known {
				unit = &u
				at, err = match(strings.TrimSpace(heading[:open]), titles)
			}
		}
	}
	if err == nil && at < 0 {
		err = fmt.Errorf("no column %q; there are: %s; say --column %s=NAME", heading, list(titles), quantity)
	}
	return at, unit, err
}

// match finds a heading.
func match(heading string, titles []titled) (int, error) {
	at := -1
	for i, t := range titles {
		if t.whole != heading {
			continue
		}
		if at >= 0 {
			return -1, fmt.Errorf("two columns are called %q", heading)
		}
		at = i
	}
	return at, nil
}

func list(titles []titled) string {
	var names []string
	for _, t := range titles {
		names = append(names, t.whole)
	}
	return strings.Join(names, ", ")
}

// What the words of a heading say.
var (
	timeWords     = "time timestamp stamp zeit uhrzeit t elapsed clock uptime seconds sec millis ms date datum datetime zeitstempel"
	speedWords    = "rpm speed drehzahl revs revolutions n omega ω upm rotation spin krpm"
	headWords     = "head rotor main mast kopf hauptrotor nr headspeed rotorspeed kopfdrehzahl rotordrehzahl"
	engineWords   = "engine motor crank crankshaft kurbelwelle eng pickup shaft enginespeed motordrehzahl"
	throttleWords = "throttle gas drossel thr servo"
	loadWords     = "load collective pitch last kollektiv"
	// otherWords are of speeds that are not measured on the shaft.
	otherWords = "tail heck wind air ground gps set target wanted soll command setpoint sollwert reference limit fan altitude vario"
)

func (t *titled) has(words string) bool {
	for _, have := range t.words {
		for want := range strings.FieldsSeq(words) {
			if have == want {
				return true
			}
		}
	}
	return false
}

func (t *titled) in(of quantity) bool { return t.unit != nil && t.unit.of == of }
