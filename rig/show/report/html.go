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
	"govrig/rig/pen"
	"govrig/rig/procedure"
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
	return pen.Style() + template.CSS(css)
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
		return err
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
	Governor   *governorPart
	Sections   []*section
	Also       []picture // more of them, for the room that a print has left when all is well
	Cautions   []string
	Rig        []rigRow
	RigWorst   string
	Makers     []string
	Measured   []convention
}

// Listed reports whether a print has any of the numbers' tables.
func (p *page) Listed() bool {
	return slices.ContainsFunc(p.Sections, func(s *section) bool { return !s.Unlisted() })
}

// Explained reports whether a print has any definition of a measure.
func (p *page) Explained() bool {
	return slices.ContainsFunc(p.Measured, func(c convention) bool { return !c.Free })
}

// advice is what to do next, and which runs say so.
type advice struct{ From, Text string }

// alsoPrinted is how many pictures the last sheet has room for.
const alsoPrinted = 3

// usualPictures is how many a print has of load steps and frequency response at
// three settings, beside which that room is left.
const usualPictures = 9

// crowd is how many runs there may be on a page before a print has to do without
// what is said twice.
const crowd = 6

func (d *Document) page() (*page, error) {
	if err := d.honest(); err != nil {
		return nil, err
	}
	p := &page{
		Style: pageStyle, Machine: "Bench board", Virtual: d.Virtual, Verdict: d.Verdict, Reasons: d.Reasons,
		Class: strings.ReplaceAll(d.Verdict, " ", "-"), Terse: d.Verdict == "no-go" && len(d.runs) > crowd, Line: d.line(), Provenance: d.Provenance(),
	}
	for _, r := range d.runs {
		p.Mixed = p.Mixed || r.rec.Info.Virtual != d.Virtual
		s := r.section()
		if p := procedure.All.Find(r.rec.Info.Procedure); p != nil && (slices.ContainsFunc(p.Yields, d.has) || p.Calm && s.Class == "pass" && len(d.runs) > 1) {
			s.minor()
		}
		s.crowded, s.terse = len(d.runs) > crowd, p.Terse
		p.Sections = append(p.Sections, s)
		for _, text := range minus(r.run.Next) {
			p.advise(s.Title, text)
		}
		p.Cautions = appendNew(p.Cautions, r.rec.Info.Cautions...)
	}
	if d.passed() && p.pictured() <= usualPictures {
		p.Also = leftOut(p.Sections)
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
	p.Governor = d.governorPart()
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
	return runlog.Provenance(d.Virtual, about)
}

// passed reports whether every run passed.
func (d *Document) passed() bool {
	return !slices.ContainsFunc(d.runs, func(r *reported) bool { return r.run.Result.Outcome != measure.Pass })
}

// pictured is how many pictures a print has.
func (p *page) pictured() (n int) {
	for _, s := range p.Sections {
		for _, picture := range s.Pictures {
			if !picture.Minor {
				n++
			}
		}
	}
	return n
}

// leftOut gives the first picture of each section that a print leaves out, one row
// of them.
func leftOut(sections []*section) (all []picture) {
	for _, s := range sections {
		i := slices.IndexFunc(s.Pictures, func(p picture) bool { return p.Minor && !p.Wide })
		if i < 0 || len(all) == alsoPrinted {
			continue
		}
		p := s.Pictures[i]
		if s.Minor {
			p.Title = s.Title + ", " + p.Title
		}
		all = append(all, p)
	}
	return all
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

// has reports whether there is a run of that procedure.
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
