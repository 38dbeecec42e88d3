package report

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"time"

	"govrig/rig/execution"
	"govrig/rig/identification"
	"govrig/rig/procedure"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// Document is a report on one or more runs of one machine.
type Document struct {
	// Verdict is what all runs together come to ("go", "no-go", "not proven");
	// Reasons are why, the weightiest first. Whoever makes the document judges.
	Verdict string
	Reasons []string
	// Virtual is set when no hardware took part in any of the runs; such a
	// document never says go.
	Virtual bool
	// Governor is what was identified from the runs; nil where nobody asked.
	Governor *identification.Result

	runs    []*reported
	machine *machine.Machine // of the newest run that has one
}

// reported is one run of a document.
type reported struct {
	rec *runlog.Record
	run *execution.Run // without its trace
	m   *machine.Machine
	// loops and gains are the curves of a sweep and of a tuning; views are those
	// of other runs.
	loops []runlog.Loop
	gains []runlog.GainPosition
	views []*view
}

// NewDocument reads the runs. All have to be of one machine, by its name; a run
// that needs no machine goes with any.
func NewDocument(records []*runlog.Record) (*Document, error) {
	if len(records) == 0 {
		return nil, errors.New("there is no run to report")
	}
	d := &Document{Virtual: true}
	for _, rec := range records {
		r, err := read(rec)
		if err != nil {
			return nil, err
		}
		if err := d.add(r); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(d.runs, func(a, b *reported) int {
		return cmp.Or(
			cmp.Compare(a.place(), b.place()),
			a.rec.Started().Compare(b.rec.Started()),
		)
	})
	return d, nil
}

// Identify finds out what governor the runs are of, where one of them has the
// governor's frequency response.
func (d *Document) Identify() (err error) {
	var records []*runlog.Record
	swept := false
	for _, r := range d.runs {
		records = append(records, r.rec)
		swept = swept || slices.ContainsFunc(r.loops, func(l runlog.Loop) bool { return l.Governor != nil })
	}
	if swept && d.machine != nil {
		d.Governor, err = identification.Of(d.machine, records)
	}
	return err
}

// honest refuses a go that no hardware stands behind.
func (d *Document) honest() error {
	if d.Virtual && d.Verdict == "go" {
		return errors.New("a virtual run cannot be a go")
	}
	return nil
}

func (d *Document) add(r *reported) error {
	d.Virtual = d.Virtual && r.rec.Info.Virtual
	d.runs = append(d.runs, r)
	if r.m == nil {
		return nil
	}
	if d.machine != nil && d.machine.Name != r.m.Name {
		return fmt.Errorf("the runs are of different machines, %q and %q; make a report of each", d.machine.Name, r.m.Name)
	}
	if d.machine == nil || !r.rec.Started().Before(d.newest()) {
		d.machine = r.m
	}
	return nil
}

// place is where the run stands in the order of a person's work.
func (r *reported) place() int { return procedure.Known.Place(r.rec.Info.Procedure) }

// read reads a run with what is drawn of it.
func read(rec *runlog.Record) (*reported, error) {
	r := &reported{rec: rec}
	var err error
	if r.run, r.m, err = replay.Outline(rec); err != nil {
		return nil, err
	}
	r.loops, r.gains = r.run.Loops, r.run.Gains
	if len(r.loops)+len(r.gains) > 0 {
		return r, nil
	}
	return r, r.readViews()
}

// newest is when the run began that the document's machine is of.
func (d *Document) newest() (at time.Time) {
	for _, r := range d.runs {
		if r.m == d.machine {
			at = r.rec.Started()
		}
	}
	return at
}
