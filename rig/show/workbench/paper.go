package workbench

import (
	"errors"
	"net/http"
	"path/filepath"
	"slices"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
)

// mostRuns is how many runs the room lists.
const mostRuns = 100

// run is one run as the page lists it.
type run struct {
	Name, Title, Started, Outcome string
	Virtual                       bool
}

// paperRoom shows the verdict, the runs of this machine, and what can be
// printed.
func (w *Workbench) paperRoom(out http.ResponseWriter, _ *http.Request) {
	f := w.far()
	f.Name = "paper"
	data := struct {
		far
		Kept bool
		Runs []run
	}{far: f}
	m, s, err := w.state()
	if err == nil {
		data.Kept = len(s.Records()) > 0
		runs, err := runlog.Summaries(w.options.Records)
		if err == nil {
			data.Runs = listed(runs, m.Name)
		}
	}
	show(out, "paper.html", data)
}

func listed(runs []runlog.Summary, machine string) (all []run) {
	for _, r := range slices.Backward(runs) {
		if r.Machine == machine && len(all) < mostRuns {
			title := procedure.All.Title(r.Procedure)
			if r.Speed != "" {
				title += ", " + r.Speed
			}
			all = append(all, run{r.Run, title, r.Began().Format("2006-01-02 15:04"), r.Ended, r.Virtual})
		}
	}
	return all
}

// reportPolicy lets a report have the style that it carries, and nothing else.
const reportPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"

// report is the page of what the commission of the machine has kept.
func (w *Workbench) report(out http.ResponseWriter, _ *http.Request) {
	_, s, err := w.state()
	if err != nil {
		refuse(out, err)
		return
	}
	var records []*runlog.Record
	for _, name := range s.Records() {
		rec, err := runlog.Find(w.options.Records, name)
		if err != nil {
			refuse(out, err)
			return
		}
		records = append(records, rec)
	}
	document(out, records, func(d *report.Document) { d.Verdict, d.Reasons = string(s.Verdict), s.Reasons })
}

func document(out http.ResponseWriter, records []*runlog.Record, judge func(*report.Document)) {
	if len(records) == 0 {
		refuse(out, errors.New("nothing has been done yet"))
		return
	}
	d, err := report.NewDocument(records)
	if err != nil {
		refuse(out, err)
		return
	}
	if err := d.Identify(); err != nil {
		refuse(out, err)
		return
	}
	judge(d)
	out.Header().Set("Content-Type", "text/html; charset=utf-8")
	out.Header().Set("Content-Security-Policy", reportPolicy)
	_ = d.HTML(harmless.NewWriter(out)) // a browser that has gone needs no page
}

// named finds a run by its name in the records' folder, never by a path.
func (w *Workbench) named(name string) (*runlog.Record, error) {
	if name == "" || name != filepath.Base(name) || strings.Contains(name, "..") {
		return nil, errors.New("there is no such run")
	}
	return runlog.Find(w.options.Records, name)
}

// run is the page of one run.
func (w *Workbench) run(out http.ResponseWriter, r *http.Request) {
	rec, err := w.named(r.URL.Query().Get("name"))
	if err != nil {
		refuse(out, err)
		return
	}
	document(out, []*runlog.Record{rec}, func(*report.Document) {})
}

// beside are two runs beside each other.
func (w *Workbench) beside(out http.ResponseWriter, r *http.Request) {
	var text strings.Builder
	if err := w.compare(&text, r.URL.Query().Get("a"), r.URL.Query().Get("b")); err != nil {
		refuse(out, err)
		return
	}
	show(out, "beside.html", struct {
		room
		Text string
	}{w.room("paper", nil), text.String()})
}

func (w *Workbench) compare(text *strings.Builder, names ...string) error {
	var runs []*runlog.Record
	for _, name := range names {
		rec, err := w.named(name)
		if err != nil {
			return err
		}
		runs = append(runs, rec)
	}
	known, _, err := runlog.List(w.options.Records, runlog.Alike(runs))
	if err != nil {
		return err
	}
	return report.CompareRuns(text, runs, known)
}
