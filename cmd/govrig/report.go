package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"govrig/rig/commission"
	"govrig/rig/report"
	"govrig/rig/runlog"
)

type reportOptions struct {
	records, file string
	text, json    bool
}

func newReportCommand(io streams) *cobra.Command {
	var o reportOptions
	c := &cobra.Command{
		Use:   "report RUN...",
		Short: "Make a page of one or more runs of a machine, to look at and to print",
		Long: `Makes one page of recorded runs of one machine: go, no-go or not proven with the
reasons first, the set-up sheet, what was measured with its limits drawn in, what
was found, cautions, and how sure all of it is. The page is one HTML file that
needs nothing from outside; print it from the browser. Runs without hardware are
marked VIRTUAL and never make a go.
` + runArgument,
		Example: "  govrig report last\n  govrig report 2026-03-01-193005-hold 2026-03-01-194410-loadstep -o trainer.html\n  govrig report last --text",
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
	var records []*runlog.Record
	for _, name := range names {
		rec, err := runlog.Find(o.records, name)
		if err != nil {
			return err
		}
		records = append(records, rec)
	}
	d, err := report.NewDocument(records)
	if err != nil {
		return err
	}
	state, err := commission.OfRecords(plain(commissionSteps(false)), records)
	if err != nil {
		return err
	}
	d.Verdict, d.Reasons = string(state.Verdict), state.Reasons
	if d.Virtual {
		fmt.Fprintln(io.err, d.Provenance())
	}
	return o.write(io, d, records[len(records)-1].Name()+".html")
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

// writeFile writes a file whole or not at all.
func writeFile(name string, write func(io.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	if err := errors.Join(write(f), f.Close()); err != nil {
		return errors.Join(err, os.Remove(name))
	}
	return nil
}
