package report

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"govrig/rig/measure"
	"govrig/sim/words"
)

// grid is a table of measures: one row each, one column for each setting or
// load where the run has several.
type grid struct {
	Columns []string // empty where there is only one
	Rows    []gridRow
}

// Broad reports whether the table is too wide for a part of a page.
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

// gridOf lays the measures of a run out, leaving out those that skip is true of.
func (r *reported) gridOf(skip func(*measure.Measure) bool) grid {
	var g grid
	rows := map[string]int{}
	for i := range r.run.Result.Measures {
		m := &r.run.Result.Measures[i]
		if skip(m) {
			continue
		}
		of, column := r.column(m.Key), 0
		if of != "" {
			if column = slices.Index(g.Columns, of); column < 0 {
				column = len(g.Columns)
				g.Columns = append(g.Columns, of)
			}
		}
		name := rowName(m.Key)
		at, known := rows[name]
		if !known {
			at = len(g.Rows)
			rows[name] = at
			g.Rows = append(g.Rows, gridRow{Name: name, Unit: unitOf(m), Limit: limit(m), Meaning: m.Meaning, One: of == "", Free: true})
		}
		g.Rows[at].take(m, column)
	}
	return g
}

// column is what tells a measure from others alike: the setting, where the run had
// several, and the load.
func (r *reported) column(k measure.Key) string {
	if r.run.Setting.Name != "" && len(r.loops) == 0 {
		k.Setting = ""
	}
	return strings.TrimSpace(k.Setting + " " + string(k.Load))
}

// rowName is a measure in words, whatever the setting and the load.
func rowName(k measure.Key) string {
	if k.Moment != "" {
		return plain(k.What) + ", " + plain(k.Moment)
	}
	return plain(k.What)
}

func unitOf(m *measure.Measure) string {
	if m.Unit == "1" {
		return ""
	}
	return m.Unit
}

func limit(m *measure.Measure) string {
	return words.Minus(m.Limit.String())
}

// take puts a measure into a column of the row.
func (row *gridRow) take(m *measure.Measure, column int) {
	for len(row.Cells) <= column {
		row.Cells = append(row.Cells, gridCell{})
	}
	c := gridCell{Value: "–", Class: class(m), Word: word(*m)}
	if m.Value != nil {
		c.Value = words.Minus(figure(m))
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

// The measures of a fault.
const (
	faultTime     = "time_to_safe"
	faultSpeed    = "highest_speed"
	faultThrottle = "throttle_at_end"
)

// ofFault reports whether a measure is of a fault.
func ofFault(m *measure.Measure) bool {
	return m.Key.Moment != "" && slices.Contains([]string{faultTime, faultSpeed, faultThrottle}, m.Key.What)
}

// faults is the fault table of a run.
func (r *reported) faults() (rows []faultRow) {
	done := 0
	for i := range r.run.Result.Measures {
		m := &r.run.Result.Measures[i]
		if m.Key.What != faultTime || m.Key.Moment == "" {
			continue
		}
		of := func(what string) *measure.Measure {
			k := m.Key
			k.What = what
			return r.run.Result.Get(k)
		}
		row := faultRow{What: cmp.Or(m.About, plain(m.Key.Moment)), Time: faultCell(m)}
		all := []*measure.Measure{m, of(faultSpeed), of(faultThrottle)}
		row.Speed, row.Throttle = faultCell(all[1]), faultCell(all[2])
		row.judge(all)
		if row.Safe != notDone {
			done++
			row.Number = strconv.Itoa(done)
		}
		rows = append(rows, row)
	}
	return rows
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
			row.Safe, row.Class = "cannot tell", "notrun"
			row.Why = strings.Join(m.Warnings, "; ")
		}
	}
	if !slices.ContainsFunc(all, func(m *measure.Measure) bool { return m != nil && m.Value != nil }) {
		row.Safe = notDone
	}
}

// notDone is the word for a fault of which nothing was measured.
const notDone = "not done"
