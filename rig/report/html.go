package report

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/report/figure"
	"govrig/rig/runlog"
)

//go:embed page
var pageFiles embed.FS

var pageTemplate = template.Must(template.New("report.html").ParseFS(pageFiles, "page/report.html"))

var pageStyle = func() template.CSS {
	css, err := pageFiles.ReadFile("page/report.css")
	if err != nil {
		panic(err) // it is embedded
	}
	return template.CSS(css)
}()

// HTML writes the document as one page that needs nothing from outside: for a
// screen, light or dark, wide or narrow, and for A4 paper.
func (d *Document) HTML(w io.Writer) error {
	p, err := d.page()
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, p); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

// page is what the template shows.
type page struct {
	Style      template.CSS
	Machine    string
	Notes      string // of the machine file
	Line       string // how many runs, from when
	Provenance string
	Virtual    bool
	Mixed      bool // some runs are virtual
	Verdict    string
	Class      string
	Terse      bool // a print is about what went wrong
	Reasons    []string
	Next       []advice
	Setup      *setup
	Sections   []*section
	Cautions   []string
	Rig        []rigRow
	RigWorst   string
	Makers     []string
	Measured   []convention
}

// Listed tells whether a print has any of the numbers' tables.
func (p *page) Listed() bool {
	return slices.ContainsFunc(p.Sections, func(s *section) bool { return !s.Unlisted() })
}

// Explained tells whether a print has any definition of a measure.
func (p *page) Explained() bool {
	return slices.ContainsFunc(p.Measured, func(c convention) bool { return !c.Free })
}

// advice is what to do next, and which runs say so.
type advice struct{ From, Text string }

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

// Beside tells whether the one picture has room beside what was found.
func (s *section) Beside() bool {
	return len(s.Pictures) == 1 && !s.Pictures[0].Wide && len(s.Found)+len(s.Notes) > 0
}

// captioned tells whether the captions of printed pictures have what counts.
func (s *section) captioned() bool { return len(s.Pictures) > 1 && !s.Minor }

// Quiet tells whether a print can do without what was found: the table of faults
// has the same, or captions have and room is scarce or nothing went wrong.
func (s *section) Quiet() bool {
	good := s.Class == "pass"
	return len(s.Faults) > 0 || s.captioned() && (good || s.crowded) || s.Minor && good
}

// Bare tells whether a print would show nothing of the section but its head.
func (s *section) Bare() bool { return s.Minor && s.Quiet() && len(s.Faults)+len(s.Notes) == 0 }

// Unprinted tells whether a print can do without a row of the table of numbers:
// it has no limit, or it met it, and captions have it, or room is scarce and
// sentences have it or other things are wrong.
func (s *section) Unprinted(row gridRow) bool {
	return row.Free || !row.Bad && (s.captioned() || s.crowded && (s.Plain() || s.terse))
}

// printed tells whether a measure stands in a print: in a caption or in the table
// of numbers.
func (s *section) printed(m *measure.Measure) bool {
	bad := m.Outcome == measure.Fail || m.Outcome == measure.Error
	return bad || m.Limit != nil && !s.terse && (s.captioned() || !s.Unprinted(gridRow{}))
}

// Unlisted tells whether a print can do without the whole table.
func (s *section) Unlisted() bool {
	return !slices.ContainsFunc(s.Grid.Rows, func(r gridRow) bool { return !s.Unprinted(r) })
}

// Plain tells whether the section is words only.
func (s *section) Plain() bool { return len(s.Pictures)+len(s.Faults) == 0 }

// crowd is how many runs there may be on a page before a print has to do without
// what is said twice.
const crowd = 6

func (d *Document) page() (*page, error) {
	if err := d.honest(); err != nil {
		return nil, err
	}
	p := &page{
		Style: pageStyle, Machine: "Bench board", Virtual: d.Virtual, Verdict: d.Verdict, Reasons: reasons(d.Reasons),
		Class: strings.ReplaceAll(d.Verdict, " ", "-"), Terse: d.Verdict == "no-go" && len(d.runs) > crowd, Line: d.line(), Provenance: d.Provenance(),
	}
	for _, r := range d.runs {
		p.Mixed = p.Mixed || r.rec.Info.Virtual != d.Virtual
		s, err := r.section()
		if err != nil {
			return nil, err
		}
		switch p := r.rec.Info.Procedure; {
		case (p == "hold" || p == "spoolup") && d.has("loadstep"), p == "faults" && s.Class == "pass" && len(d.runs) > 1:
			s.minor()
		}
		s.crowded, s.terse = len(d.runs) > crowd, p.Terse
		p.Sections = append(p.Sections, s)
		for _, text := range minus(r.run.Next) {
			p.advise(s.Title, text)
		}
		p.Cautions = appendNew(p.Cautions, r.rec.Info.Cautions...)
	}
	if d.machine != nil {
		p.Machine, p.Notes = d.machine.Name, d.machine.Notes
		setup, cautions, err := d.setup()
		if err != nil {
			return nil, err
		}
		p.Setup = setup
		p.Cautions = appendNew(p.Cautions, cautions...)
	}
	p.Rig, p.RigWorst, p.Makers, p.Measured = d.rig(), d.rigWorst(), d.makers(), d.conventions(p.Sections)
	return p, nil
}

// Provenance is the line that says what took part in the runs.
func (d *Document) Provenance() string {
	about := d.runs[0].rec.Info.Subject
	for _, r := range d.runs {
		if r.rec.Info.Subject != about {
			about = ""
		}
	}
	return provenance(d.Virtual, about)
}

// advise takes up what a run says is to be done next; what several say is one
// advice.
func (p *page) advise(from, text string) {
	i := slices.IndexFunc(p.Next, func(a advice) bool { return a.Text == text })
	if i < 0 {
		p.Next = append(p.Next, advice{from, text})
		return
	}
	if !strings.HasSuffix(p.Next[i].From, from) {
		p.Next[i].From += ", " + from
	}
}

// minor leaves the pictures of a section out of a print.
func (s *section) minor() {
	for i := range s.Pictures {
		s.Pictures[i].Minor = true
	}
	s.Minor = true
}

// has tells whether there is a run of that procedure.
func (d *Document) has(procedure string) bool {
	return slices.ContainsFunc(d.runs, func(r *reported) bool { return r.rec.Info.Procedure == procedure })
}

// appendNew appends what is not there yet.
func appendNew(all []string, more ...string) []string {
	for _, s := range more {
		if !slices.Contains(all, s) {
			all = append(all, s)
		}
	}
	return all
}

// line says how many runs there are, and from when.
func (d *Document) line() string {
	first, last := d.runs[0].rec, d.runs[0].rec
	for _, r := range d.runs {
		if r.rec.Started().Before(first.Started()) {
			first = r.rec
		}
		if r.rec.Started().After(last.Started()) {
			last = r.rec
		}
	}
	text := "1 run"
	if n := len(d.runs); n > 1 {
		text = fmt.Sprintf("%d runs", n)
	}
	from, to := day(first), day(last)
	if from != to {
		return text + ", " + from + " to " + to
	}
	return text + ", " + from
}

func day(r *runlog.Record) string {
	if r.Started().IsZero() {
		return "day not known"
	}
	return r.Started().Format("2 January 2006")
}

// section lays a run out.
func (r *reported) section() (*section, error) {
	info := &r.rec.Info
	s := &section{
		Title: Title(info.Procedure), Facts: r.facts(), Virtual: info.Virtual,
		Found: minus(r.run.Found), Notes: minus(r.run.Result.Warnings),
	}
	s.Outcome, s.Class = r.outcome()
	s.Faults = r.faults()
	s.Grid = r.gridOf(func(m *measure.Measure) bool { return own(m) && m.Outcome != measure.Fail || ofFault(m) })
	var err error
	s.Pictures, err = r.pictures()
	s.Legend = r.legend()
	return s, err
}

// facts tell the run from others.
func (r *reported) facts() string {
	info := &r.rec.Info
	var facts []string
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
func (r *reported) pictures() ([]picture, error) {
	bodes, err := r.bodes()
	if err != nil {
		return nil, err
	}
	gains, err := r.gainCharts()
	if err != nil {
		return nil, err
	}
	all := append(bodes, gains...)
	for _, c := range r.clips {
		p, err := r.picture(c)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	return all, nil
}

// legend explains the lines of the run's pictures.
func (r *reported) legend() (all []legend) {
	add := func(swatch template.HTML, words string) { all = append(all, legend{swatch, words}) }
	switch {
	case len(r.loops) > 0:
		add(figure.First.Swatch(), "light load")
		add(figure.Second.Swatch(), "heavy load")
		return all
	case len(r.gains) > 0:
		add(figure.Wanted.Swatch(), "position to keep; the numbers are positions, counted from the start")
	case len(r.clips) == 0:
		return nil
	default:
		add(figure.First.Swatch(), "measured")
		if k := r.clips[0].kind; k == spool || k == whole {
			all[0].Words = "head; throttle"
			add(figure.Second.Swatch(), "engine, geared down")
		}
		add(figure.Wanted.Swatch(), "wanted")
		if r.clips[0].kind == whole {
			return all
		}
	}
	add(figure.HatchSwatch(), "beyond a limit")
	return all
}
