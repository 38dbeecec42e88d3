package logfile

import (
	"fmt"
	"math"
	"strings"

	"govrig/sim/words"
)

// kind is what the fields of a column are.
type kind int

const (
	unseen kind = iota // no value yet
	plainNumbers
	clocks
	days
	texts
)

// tab is a table of values, column by column.
type tab struct {
	shape
	values [][]float64
	kinds  []kind
	first  []string // the first value of each column as it stands
	lines  []int    // of each row, from 1
	faults []fault
	dated  bool
	timeAt int

	commas, repeats, remarks int   // for the notes
	firstRemark              int   // line
	short                    error // of a last line that is torn
}

// fault is the first field of a column that is no value, and how many there are.
type fault struct {
	line, count int
	err         error
}

// tabulate reads all rows.
func tabulate(s *shape, all []string) (*tab, error) {
	n := len(s.titles)
	t := &tab{shape: *s, values: make([][]float64, n), kinds: make([]kind, n), first: make([]string, n), faults: make([]fault, n)}
	for i, line := range all[s.first:] {
		if comment(line) {
			continue
		}
		if t.short != nil {
			return nil, t.short
		}
		if s.header != "" && line == s.header || s.units != "" && line == s.units {
			t.repeats++
			continue
		}
		if err := t.row(line, s.first+i+1); err != nil {
			return nil, fmt.Errorf("%w: %w", ErrFormat, err)
		}
	}
	return t, nil
}

// row takes a line. A line that is too short is forgiven when it is the last.
func (t *tab) row(line string, number int) error {
	fields, err := split(line, t.separator)
	if err != nil {
		return fmt.Errorf("line %d: %w", number, err)
	}
	for len(fields) > len(t.titles) && fields[len(fields)-1] == "" {
		fields = fields[:len(fields)-1]
	}
	switch {
	case len(fields) != len(t.titles) && !t.sample(line) && !t.lone(fields):
		if t.remarks++; t.remarks == 1 {
			t.firstRemark = number
		}
		return nil
	case len(fields) < len(t.titles):
		t.short = fmt.Errorf("%w: %w", ErrFormat, t.mismatch(number, fields))
		return nil
	case len(fields) > len(t.titles):
		return t.mismatch(number, fields)
	}
	for i, f := range fields {
		t.take(i, f, number)
	}
	t.lines = append(t.lines, number)
	return nil
}

// sample reports whether a line holds a sample of some width.
func (t *tab) sample(line string) bool {
	fields, _ := values(line, t.separator)
	return fields > 0
}

// lone reports whether what is left of a line begins like a sample.
func (t *tab) lone(fields []string) bool {
	return len(fields) > 0 && !missing(fields[0]) && isValue(fields[0], t.separator)
}

func (t *tab) mismatch(number int, fields []string) error {
	hint := ""
	if t.separator == ',' && len(fields) > len(t.titles) {
		hint = "; if the numbers have decimal commas, put semicolons between the fields"
	}
	return fmt.Errorf("line %d has %d fields where the header has %d%s", number, len(fields), len(t.titles), hint)
}

// take reads a field into its column.
func (t *tab) take(i int, field string, line int) {
	value, kind, err := t.read(i, field)
	if err != nil {
		if f := &t.faults[i]; f.count == 0 {
			f.line, f.err = line, err
		}
		t.faults[i].count++
		value = math.NaN()
	} else if kind != unseen && t.kinds[i] == unseen {
		t.kinds[i], t.first[i] = kind, field
	}
	t.values[i] = append(t.values[i], value)
}

// read gives the value of a field and what kind it is.
func (t *tab) read(i int, field string) (float64, kind, error) {
	if missing(field) {
		return math.NaN(), unseen, nil
	}
	if s, dated, ok := clock(field); ok {
		t.dated = t.dated || dated
		return s, clocks, nil
	}
	x, unit, comma, err := number(field, t.separator)
	if err == nil && t.kinds[i] != days {
		if comma {
			t.commas++
		}
		if u, ok := unitOf(unit); ok && t.titles[i].unit == nil {
			t.titles[i].unit = &u
		}
		return x, plainNumbers, nil
	}
	if d, ok := date(field); ok {
		return d, days, nil
	}
	return 0, texts, err
}

// sound refuses a column that was taken and holds what is no value, but for one
// row in a hundred, which it counts.
func (t *tab) sound(at int) (left string, err error) {
	f := t.faults[at]
	if f.count == 0 {
		return "", nil
	}
	if f.count*100 > len(t.lines) {
		return "", fmt.Errorf("line %d, %s: %w", f.line, t.titles[at].whole, f.err)
	}
	return fmt.Sprintf("%s left out whose %s is no number, the first in line %d", words.Count(f.count, "row"), t.titles[at].whole, f.line), nil
}

// notes are what was left out of the text, and how it was read.
func (t *tab) notes(torn string) (notes []string) {
	note := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if t.preamble {
		note("what stands above line %d was left out: it is not part of the table", t.skipped+1)
	}
	if strings.TrimSpace(torn) != "" {
		note("the last line has no line end and was left out: it may be torn")
	}
	if t.short != nil {
		note("the last line is short and was left out: it is torn")
	}
	if t.commas > 0 {
		note("decimal commas were read as decimal points")
	}
	if t.repeats > 0 {
		note("the heading comes again and was left out there (lines: %d)", t.repeats)
	}
	if t.remarks > 0 {
		note("lines without samples were left out: %d, the first is line %d", t.remarks, t.firstRemark)
	}
	return notes
}
