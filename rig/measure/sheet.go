package measure

import (
	"fmt"
	"math"
)

// Sheet collects the measures of one procedure: declare all, then take them
// in any order, then ask for the Result. Wrong use (a measure taken twice, or
// without having been declared) does not panic in the middle of a run; it
// shows in the result as an error.
type Sheet struct {
	result Result
	optional,
	settled []bool // by index of result.Measures
	broken bool
}

// NewSheet opens a sheet and declares its measures. More can be declared
// later, as long as that happens before they are taken.
func NewSheet(procedure string, virtual bool, declared ...Declaration) *Sheet {
	s := &Sheet{result: Result{
		Schema: Schema, Procedure: procedure, Virtual: virtual,
		Measures: []Measure{}, Warnings: []string{},
	}}
	s.Declare(declared...)
	return s
}

// Declare adds measures in the order in which they will be shown.
func (s *Sheet) Declare(declared ...Declaration) {
	for _, d := range declared {
		if s.index(d.Name) >= 0 {
			s.Break("measure %q was declared twice", d.Name)
			continue
		}
		if d.Key.What == "" {
			d.Key.What = d.Name
		}
		if err := d.Limit.Validate(); err != nil {
			s.Break("measure %q: %v", d.Name, err)
		}
		s.result.Measures = append(s.result.Measures, Measure{
			Name: d.Name, Key: d.Key, About: d.About, Rig: d.Rig, Unit: d.Unit, Limit: d.Limit, Outcome: NotRun,
			Meaning: d.Meaning, Convention: d.Convention, Warnings: []string{},
		})
		s.optional = append(s.optional, d.Optional && d.Limit == nil)
		s.settled = append(s.settled, false)
	}
}

// Set takes a measure. A value that is no finite number makes the measure an
// error.
func (s *Sheet) Set(name string, value float64, warnings ...string) {
	m := s.settle(name)
	if m == nil {
		return
	}
	m.Warnings = append(m.Warnings, warnings...)
	if math.IsNaN(value) || math.IsInf(value, 0) {
		m.Outcome = Error
		m.Warnings = append(m.Warnings, fmt.Sprintf("the computation gave %g", value))
		return
	}
	m.Value = &value
	m.Outcome = Pass
	if !m.Limit.Met(value) {
		m.Outcome = Fail
	}
}

// NotRun says why a declared measure could not be taken.
func (s *Sheet) NotRun(name, why string) {
	if m := s.settle(name); m != nil {
		m.Warnings = append(m.Warnings, why)
	}
}

// Take puts a reading on the sheet: its number, or the reason for having none.
func (s *Sheet) Take(name string, r Reading) {
	if i := s.index(name); i >= 0 {
		m := &s.result.Measures[i]
		m.Uncertainty, m.AtLeast = r.Uncertainty, r.AtLeast
		if m.Convention != "" && r.Detail != "" {
			m.Convention += "; "
		}
		m.Convention += r.Detail
	}
	if r.OK() {
		s.Set(name, r.Value, r.Warnings...)
		return
	}
	s.NotRun(name, r.Why)
	if i := s.index(name); i >= 0 {
		m := &s.result.Measures[i]
		m.Warnings = append(m.Warnings, r.Warnings...)
	}
}

// Warn adds a warning about the whole result.
func (s *Sheet) Warn(format string, args ...any) {
	s.result.Warnings = append(s.result.Warnings, fmt.Sprintf(format, args...))
}

// Break marks the whole result as an error: the rig or the person went wrong.
func (s *Sheet) Break(format string, args ...any) {
	s.broken = true
	s.Warn(format, args...)
}

// Result gives what the sheet holds now.
//
// The outcome of the whole is error when the sheet was broken or a measure is
// an error; else fail when a limit was missed; else not run when a measure
// that is not optional was not taken, or none was; else pass.
func (s *Sheet) Result() Result {
	r := s.result
	r.Measures = append([]Measure{}, s.result.Measures...)
	r.Warnings = append([]string{}, s.result.Warnings...)
	r.Outcome = s.outcome()
	return r
}

func (s *Sheet) outcome() Outcome {
	var errs, fails, missing, taken int
	for i, m := range s.result.Measures {
		switch m.Outcome {
		case Error:
			errs++
		case Fail:
			fails++
		case Pass:
			taken++
		case NotRun:
			if !s.optional[i] {
				missing++
			}
		}
	}
	switch {
	case s.broken || errs > 0:
		return Error
	case fails > 0:
		return Fail
	case missing > 0 || taken == 0:
		return NotRun
	}
	return Pass
}

// settle finds a measure that may still be taken.
func (s *Sheet) settle(name string) *Measure {
	i := s.index(name)
	if i < 0 {
		s.Break("measure %q was taken without having been declared", name)
		return nil
	}
	if s.settled[i] {
		s.Break("measure %q was taken twice", name)
		return nil
	}
	s.settled[i] = true
	return &s.result.Measures[i]
}

func (s *Sheet) index(name string) int {
	for i := range s.result.Measures {
		if s.result.Measures[i].Name == name {
			return i
		}
	}
	return -1
}
