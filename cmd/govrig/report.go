package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"govrig/rig/commission"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
	"govrig/sim/machine"
)

type reportOptions struct {
	records, file string
	text, json    bool
}

func newReportCommand(io streams) *cobra.Command {
	var o reportOptions
	c := &cobra.Command{
		Use:   "report RUN...|MACHINE",
		Short: "Make a page of one or more runs of a machine, to look at and to print",
		Long: `Makes one page of recorded runs of one machine: go, no-go or not proven with the
reasons first, the set-up sheet, what was measured with its limits drawn in, what
was found, cautions, and how sure all of it is. The page is one HTML file that
needs nothing from outside; print it from the browser. Runs without hardware are
marked VIRTUAL and never make a go.
MACHINE is a machine file: the page is of the runs that its commission has kept.
` + runArgument,
		Example: "  govrig report mine.yaml\n  govrig report last\n  govrig report 2026-03-01-193005-hold 2026-03-01-194410-loadstep -o mine.html\n  govrig report last --text",
		Args:    cobra.MinimumNArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return reportRuns(io, args, &o) },
	}
	f := c.Flags()
	recordsFlag(c, &o.records)
	f.StringVarP(&o.file, "output", "o", "", "file to write, - for standard output (default: the last run's name with .html)")
	f.BoolVar(&o.text, "text", false, "print text in place of a page")
	f.BoolVar(&o.json, "json", false, "print one JSON document in place of a page")
	c.MarkFlagsMutuallyExclusive("text", "json")
	return c
}

func reportRuns(io streams, names []string, o *reportOptions) error {
	records, m, file, err := o.find(names)
	if err != nil {
		return err
	}
	d, err := report.NewDocument(records)
	if err != nil {
		return err
	}
	if err := d.Identify(); err != nil {
		return err
	}
	state, err := commission.OfRecords(procedure.All, records, m)
	if err != nil {
		return err
	}
	d.Verdict, d.Reasons = string(state.Verdict), state.Reasons
	if d.Virtual {
		fmt.Fprintln(io.err, d.Provenance())
	}
	return o.write(io, d, file)
}

// find finds the named runs, or those of a machine file's commission with the
// machine as it is now, and a name for the page of them.
func (o *reportOptions) find(names []string) (records []*runlog.Record, m *machine.Machine, file string, err error) {
	if ext := filepath.Ext(names[0]); len(names) == 1 && (ext == ".yaml" || ext == ".yml") {
		file = strings.TrimSuffix(filepath.Base(names[0]), ext) + ".html"
		if m, err = machine.Load(names[0]); err == nil {
			names, err = commissionRuns(o.records, names[0], m)
		}
		if err != nil {
			return nil, nil, "", err
		}
	}
	for _, name := range names {
		rec, err := runlog.Find(o.records, name)
		if err != nil {
			return nil, nil, "", err
		}
		records = append(records, rec)
	}
	if file == "" {
		file = records[len(records)-1].Name() + ".html"
	}
	return records, m, file, nil
}

// commissionRuns are the runs that the commission of a machine has kept, on the bench
// where there are such, else virtual.
func commissionRuns(folder, path string, m *machine.Machine) (runs []string, err error) {
	for _, virtual := range []bool{false, true} {
		state, err := commission.Open(folder, m, virtual, procedure.All)
		if err != nil {
			return nil, err
		}
		if runs = state.Records(); len(runs) > 0 {
			return runs, nil
		}
	}
	return nil, fmt.Errorf("nothing of %s has been commissioned in %s: govrig commission %s comes first", path, folder, path)
}

// write writes the document in the form that was asked for; file is where a
// page goes when nothing else was said.
func (o *reportOptions) write(io streams, d *report.Document, file string) error {
	as := d.HTML
	switch {
	case o.text:
		as, file = d.Text, "-"
	case o.json:
		as, file = d.JSON, "-"
	}
	if o.file != "" {
		file = o.file
	}
	if file == "-" {
		return as(io.out)
	}
	if err := writeFile(file, as); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "%s; written: %s\n", d.Verdict, file)
	return nil
}
