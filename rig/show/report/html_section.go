package report

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/pen"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
)

type legend struct {
	Swatch template.HTML
	Words  string
}

// section is one run on the page.
type section struct {
	Title, Facts   string
	Virtual        bool
	Outcome, Class string
	Found          []string
	Notes          []string // warnings
	Grid           grid
	Faults         []faultRow
	Pictures       []picture
	Legend         []legend
	Minor          bool // all its pictures are
	crowded        bool // there are many others on the page
	terse          bool // others on the page went wrong
}

// Beside reports whether the one picture has room beside what was found.
func (s *section) Beside() bool {
	return len(s.Pictures) == 1 && !s.Pictures[0].Wide && len(s.Found)+len(s.Notes) > 0
}

// captioned reports whether the captions of printed pictures have what counts.
func (s *section) captioned() bool { return len(s.Pictures) > 1 && !s.Minor }

// Quiet reports whether a print can do without what was found: the table of faults
// has the same, or captions have and room is scarce or nothing went wrong.
func (s *section) Quiet() bool {
	good := s.Class == "pass"
	return len(s.Faults) > 0 || s.captioned() && (good || s.crowded) || s.Minor && good
}

// Bare reports whether a print would show nothing of the section but its head.
func (s *section) Bare() bool { return s.Minor && s.Quiet() && len(s.Faults)+len(s.Notes) == 0 }

// Unprinted reports whether a print can do without a row of the table of numbers:
// it has no limit, or it met it, and captions have it, or room is scarce and
// sentences have it or other things are wrong.
func (s *section) Unprinted(row gridRow) bool {
	return row.Free || !row.Bad && (s.captioned() || s.crowded && (s.Plain() || s.terse))
}

// printed reports whether a measure stands in a print: in a caption or in the table
// of numbers.
func (s *section) printed(m *measure.Measure) bool {
	bad := m.Outcome == measure.Fail || m.Outcome == measure.Error
	return bad || m.Limit != nil && !s.terse && (s.captioned() || !s.Unprinted(gridRow{}))
}

// Unlisted reports whether a print can do without the whole table.
func (s *section) Unlisted() bool {
	return !slices.ContainsFunc(s.Grid.Rows, func(r gridRow) bool { return !s.Unprinted(r) })
}

// Plain reports whether the section is words only.
func (s *section) Plain() bool { return len(s.Pictures)+len(s.Faults) == 0 }

// minor leaves the pictures of a section out of a print.
func (s *section) minor() {
	for i := range s.Pictures {
		s.Pictures[i].Minor = true
	}
	s.Minor = true
}

// section lays a run out.
func (r *reported) section() *section {
	info := &r.rec.Info
	s := &section{
		Title: procedure.Known.Title(info.Procedure), Facts: r.facts(), Virtual: info.Virtual,
		Found: minus(r.run.Found), Notes: minus(r.run.Result.Warnings),
	}
	s.Outcome, s.Class = r.outcome()
	s.Faults = r.faults()
	s.Grid = r.gridOf(func(m *measure.Measure) bool { return m.Rig && m.Outcome != measure.Fail || ofFault(m) })
	s.Pictures = r.pictures()
	s.Legend = r.legend()
	return s
}

// facts tell the run from others.
func (r *reported) facts() string {
	info := &r.rec.Info
	facts := []string{info.Procedure}
	if info.Speed != "" {
		facts = append(facts, info.Speed)
	}
	if at := r.rec.Started(); !at.IsZero() {
		facts = append(facts, at.Format("2006-01-02 15:04"))
	}
	if length, err := r.rec.Length(); err == nil {
		facts = append(facts, fmt.Sprintf("%.0f s", length))
	}
	if info.Board != "virtual" {
		facts = append(facts, info.Board)
	}
	return strings.Join(facts, " · ")
}

// outcome is how the run came out, and its class.
func (r *reported) outcome() (word, class string) {
	if reason := r.rec.Reason(); reason != runlog.Complete {
		return reason, "error"
	}
	o := r.run.Result.Outcome
	if o == measure.NotRun {
		return "not all measured", outcomeClass(o)
	}
	return string(o), outcomeClass(o)
}

// pictures draws what there is to draw.
func (r *reported) pictures() []picture {
	all := append(r.bodes(), r.gainCharts()...)
	for _, v := range r.views {
		all = append(all, r.picture(v))
	}
	return all
}

// legend explains the lines of the run's pictures.
func (r *reported) legend() (all []legend) {
	add := func(s pen.Stroke, words string) { all = append(all, legend{s.Swatch().HTML(), words}) }
	switch {
	case len(r.loops) > 0:
		add(pen.First, "light load")
		add(pen.Second, "heavy load")
		return all
	case len(r.gains) > 0:
		add(pen.Wanted, "position to keep; the numbers are positions, counted from the start")
	case len(r.views) == 0:
		return nil
	default:
		add(pen.First, "measured")
		if r.views[0].Engine {
			all[0].Words = "head; throttle"
			add(pen.Second, "engine, geared down")
		}
		add(pen.Wanted, "wanted")
		if len(r.views[0].Beyond) == 0 {
			return all
		}
	}
	add(pen.Limit, "beyond a limit")
	return all
}
