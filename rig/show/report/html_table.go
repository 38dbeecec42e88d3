package report

import (
	"slices"
	"strconv"
	"strings"

	"govrig/rig/measure"
)

// grid is a table of measures: one row each, one column for each setting or
// load where the run has several.
type grid struct {
	Columns []string // empty where there is only one
	Rows    []gridRow
}

// Broad tells whether the table is too wide for a part of a page.
func (g grid) Broad() bool { return len(g.Columns) > 1 }

type gridRow struct {
	Name, Unit, Limit string
	Meaning           string
	Cells             []gridCell
	Warnings          []string
	Bad               bool // a limit was missed
	One               bool // the cell goes for all columns
	Free              bool // there is no limit to meet
}

type gridCell struct {
	Value string
	Limit string // where it differs from column to column
	Class string
	Word  string // of the outcome, for those who cannot see its colour
}

// ownMeasures are those of the rig itself: they tell how far to trust the
// rest.
var ownMeasures = []string{"pulse_interval_error", "pulse_interval_error_worst", "pulses_unpaired", "loop_delay", "loop_delay_spread", "late_frames", "frames_lost"}

// own tells whether a measure is of the rig itself.
func own(m *measure.Measure) bool { return slices.Contains(ownMeasures, m.Name) }

// gridOf lays the measures of a run out, leaving out those that skip is true of.
func (r *reported) gridOf(skip func(*measure.Measure) bool) grid {
	var g grid
	rows := map[string]int{}
	suffixes := r.suffixes()
	for i := range r.run.Result.Measures {
		m := &r.run.Result.Measures[i]
		if skip(m) {
			continue
		}
		name, suffix := split(m.Name, suffixes)
		column := 0
		if suffix != "" {
			if column = slices.Index(g.Columns, suffix); column < 0 {
				column = len(g.Columns)
				g.Columns = append(g.Columns, suffix)
			}
		}
		at, known := rows[name]
		if !known {
			at = len(g.Rows)
			rows[name] = at
			g.Rows = append(g.Rows, gridRow{Name: plain(name), Unit: unitOf(m), Limit: limit(m), Meaning: m.Meaning, One: suffix == "", Free: true})
		}
		g.Rows[at].take(m, column)
	}
	for i := range g.Columns {
		g.Columns[i] = plain(g.Columns[i])
	}
	return g
}

// suffixes are what stands behind the names of measures that a run takes
// several times, the longest first.
func (r *reported) suffixes() (all []string) {
	loads := []string{"light", "heavy"}
	if r.rec.Info.Procedure != "sweep" {
		loads = nil
	}
	if r.m != nil {
		for _, s := range r.m.Speeds {
			for _, load := range loads {
				all = append(all, s.Name+"_"+load)
			}
			all = append(all, s.Name)
		}
	}
	all = append(all, loads...)
	slices.SortStableFunc(all, func(a, b string) int { return len(b) - len(a) })
	return all
}

func split(name string, suffixes []string) (base, suffix string) {
	for _, s := range suffixes {
		if base, ok := strings.CutSuffix(name, "_"+s); ok {
			return base, s
		}
	}
	return name, ""
}

func unitOf(m *measure.Measure) string {
	if m.Unit == "1" {
		return ""
	}
	return m.Unit
}

func limit(m *measure.Measure) string {
	if m.Limit == nil {
		return ""
	}
	return tidy(bounds(m.Limit))
}

// take puts a measure into a column of the row.
func (row *gridRow) take(m *measure.Measure, column int) {
	for len(row.Cells) <= column {
		row.Cells = append(row.Cells, gridCell{})
	}
	c := gridCell{Value: "–", Class: class(m), Word: word(*m)}
	if m.Value != nil {
		c.Value = tidy(number(*m.Value))
	}
	if l := limit(m); l != row.Limit {
		c.Limit = l
	}
	row.Cells[column] = c
	row.Free = row.Free && m.Limit == nil && m.Outcome != measure.Error
	row.Bad = row.Bad || m.Outcome == measure.Fail || m.Outcome == measure.Error
	for _, w := range m.Warnings {
		if !slices.Contains(row.Warnings, w) {
			row.Warnings = append(row.Warnings, w)
		}
	}
}

// faultRow is one fault of the fault table.
type faultRow struct {
	Number                string // in the drawing of the run; empty where it was not done
	What                  string
	Time, Speed, Throttle gridCell
	Safe                  string // in words
	Class                 string
	Why                   string // where it was not done
}

// The measures of a fault begin so.
const (
	faultTime     = "time_to_safe_"
	faultSpeed    = "highest_speed_"
	faultThrottle = "throttle_at_end_"
)

// ofFault tells whether a measure is of a fault.
func ofFault(m *measure.Measure) bool {
	for _, prefix := range []string{faultTime, faultSpeed, faultThrottle} {
		if strings.HasPrefix(m.Name, prefix) {
			return true
		}
	}
	return false
}

// faults is the fault table of a run.
func (r *reported) faults() (rows []faultRow) {
	done := 0
	for i := range r.run.Result.Measures {
		m := &r.run.Result.Measures[i]
		name, ok := strings.CutPrefix(m.Name, faultTime)
		if !ok {
			continue
		}
		row := faultRow{What: what(m, name), Time: faultCell(m)}
		all := []*measure.Measure{m, r.run.Result.Find(faultSpeed + name), r.run.Result.Find(faultThrottle + name)}
		row.Speed, row.Throttle = faultCell(all[1]), faultCell(all[2])
		row.judge(all)
		if m.Value != nil {
			done++
			row.Number = strconv.Itoa(done)
		}
		rows = append(rows, row)
	}
	return rows
}

// what says what was done: the measure's meaning ends with it.
func what(m *measure.Measure, name string) string {
	if _, text, ok := strings.Cut(m.Meaning, ": "); ok {
		return strings.TrimSuffix(text, ".")
	}
	return plain(name)
}

func faultCell(m *measure.Measure) gridCell {
	if m == nil || m.Value == nil {
		return gridCell{Value: "–"}
	}
	return gridCell{Value: quantity(*m.Value, m.Unit), Limit: limit(m), Class: class(m)}
}

// judge puts the outcome of all measures of a fault into a word.
func (row *faultRow) judge(all []*measure.Measure) {
	row.Safe, row.Class = "safe", "pass"
	for _, m := range all {
		switch {
		case m == nil:
		case m.Outcome == measure.Fail:
			row.Safe, row.Class = "NOT SAFE", "fail"
			return
		case m.Outcome != measure.Pass:
			row.Safe, row.Class = "not done", "notrun"
			row.Why = strings.Join(m.Warnings, "; ")
		}
	}
}
