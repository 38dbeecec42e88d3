package logfile

import (
	"fmt"
	"strings"

	"govrig/protocol/harmless"
)

// shape is where the table lies in a text.
type shape struct {
	separator byte
	titles    []titled
	header    string // the heading's line, which may come again
	units     string // the line of units below it, if there is one
	first     int    // index of the first line of samples
	skipped   int    // lines above the heading
	preamble  bool   // something but remarks stands there
}

// looked is how many lines are looked at to find the shape.
const looked = 400

// find finds the table: the separator by which the lines hold the most values,
// twice as much where a heading as wide stands above, and that heading.
func find(all []string, torn string) (*shape, error) {
	s := &shape{first: -1}
	best := 0
	for _, separator := range []byte{';', '\t', ',', '|', ' '} {
		first, width, count := run(all, separator)
		if (&shape{separator: separator, first: first}).headed(all, width) {
			count *= 2
		}
		if count > best {
			best, s.separator, s.first = count, separator, first
		}
	}
	if s.first < 0 {
		return nil, nothing(all, torn)
	}
	fields, _ := split(all[s.first], s.separator)
	if err := s.heading(all, len(fields)); err != nil {
		return nil, err
	}
	for _, line := range all[:s.skipped] {
		s.preamble = s.preamble || !comment(line)
	}
	return s, nil
}

// nothing says why there is no table.
func nothing(all []string, torn string) error {
	for i, line := range all {
		if strings.Count(line, `"`)%2 == 1 {
			return fmt.Errorf("%w: line %d: a quote is not closed", ErrFormat, i+1)
		}
	}
	if len(strings.TrimSpace(strings.Join(all, "")+torn)) == 0 {
		return fmt.Errorf("%w: it is empty; it holds no samples", ErrFormat)
	}
	return fmt.Errorf("%w: it holds no samples: no line has two numbers or more, apart by commas, semicolons, tabs or spaces", ErrFormat)
}

// run counts the values in the lines that hold samples when fields are apart by a
// separator, all with as many fields as the most usual, and gives the first line.
func run(all []string, separator byte) (first, width, count int) {
	counts, firsts := map[int]int{}, map[int]int{}
	for i, line := range all[:min(len(all), looked)] {
		n, full := values(line, separator)
		if n == 0 {
			continue
		}
		if counts[n] == 0 {
			firsts[n] = i
		}
		counts[n] += full
	}
	for n, c := range counts {
		if c > count || c == count && n > width {
			first, count, width = firsts[n], c, n
		}
	}
	return first, width, count
}

// values is the number of fields of a line of samples, and how many hold a value;
// 0 where it is none: at least half of its fields hold values or are empty, and
// one is not.
func values(line string, separator byte) (fields, full int) {
	if comment(line) {
		return 0, 0
	}
	all, err := split(line, separator)
	if err != nil || len(all) < 2 {
		return 0, 0
	}
	empty := 0
	for _, f := range all {
		switch {
		case missing(f):
			empty++
		case isValue(f, separator):
			full++
		}
	}
	if full < 1 || 2*(full+empty) < len(all) {
		return 0, 0
	}
	return len(all), full
}

func comment(line string) bool {
	line = strings.TrimSpace(line)
	return line == "" || line[0] == '#' || strings.HasPrefix(line, "//")
}

// highest is how many lines above the first sample the heading may stand.
const highest = 4

// headed reports whether a heading stands above the first sample.
func (s *shape) headed(all []string, width int) bool {
	for i := max(0, s.first-highest); i < s.first; i++ {
		if s.names(all, i, width) != nil {
			return true
		}
	}
	return false
}

// heading reads the names above the first sample, with a line of units between
// if there is one. A table without names gets numbers for names.
func (s *shape) heading(all []string, width int) error {
	for above, seen := s.first-1, 0; above >= 0 && seen < highest; above-- {
		if strings.TrimSpace(all[above]) == "" {
			continue
		}
		seen++
		names := s.names(all, above, width)
		if names == nil {
			if half := s.names(all, above, width/2); s.separator == ',' && len(half)*2 == width && len(half) > 1 {
				return fmt.Errorf("%w: line %d has %d fields where the header has %d; if the numbers have decimal commas, put semicolons between the fields",
					ErrFormat, s.first+1, width, len(half))
			}
			continue
		}
		s.name(all, above, width, names)
		return nil
	}
	for i := range width {
		s.titles = append(s.titles, titled{whole: fmt.Sprintf("column %d", i+1)})
	}
	s.skipped = s.first
	return nil
}

// name takes the names in a line for the heading, or for the units below one.
func (s *shape) name(all []string, above, width int, names []string) {
	s.first = above + 1
	if above > 0 && onlyUnits(names) {
		if real := s.names(all, above-1, width); real != nil {
			s.units = all[above]
			for i := range real {
				if i < len(names) && !missing(names[i]) {
					real[i] += " [" + strings.Trim(names[i], "[]() ") + "]"
				}
			}
			names, above = real, above-1
		}
	}
	s.header, s.skipped = all[above], above
	for _, n := range names {
		s.titles = append(s.titles, title(harmless.Line(n)))
	}
}

// names splits a line into headings; nil when it cannot be one of a table so wide.
func (s *shape) names(all []string, at, width int) []string {
	if at < 0 {
		return nil
	}
	line := all[at]
	if comment(line) {
		line = strings.TrimLeft(line, " #/")
	}
	names, err := split(line, s.separator)
	if err != nil || len(names) < 2 || len(names) > width+1 || len(names) < width-1 {
		return nil
	}
	for _, n := range names {
		if n != "" && !isValue(n, s.separator) {
			return names
		}
	}
	return nil
}

// onlyUnits reports whether every field is a unit or empty, and more than one a unit.
func onlyUnits(names []string) bool {
	found := 0
	for _, n := range names {
		n = strings.Trim(n, "[]() ")
		if isUnit(n) {
			found++
		} else if !missing(n) {
			return false
		}
	}
	return found >= 2
}
