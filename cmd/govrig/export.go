package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"govrig/rig/record/export"
	"govrig/rig/runlog"
)

type exportOptions struct {
	records              string
	csv, json, vcd, semi bool
	file                 string
}

func newExportCommand(io streams) *cobra.Command {
	var o exportOptions
	c := &cobra.Command{
		Use:   "export RUN",
		Short: "Write a run for other programs: CSV, JSON or VCD",
		Long: `Writes a recorded run as CSV (the simulated machine over time), as JSON (all of
it), or as VCD (the pulses of the board's lines, each edge at its tick, for a
waveform viewer).
` + runArgument,
		Example: "  govrig export last --csv -o run.csv\n  govrig export last --csv --semicolon -o run.csv\n  govrig export last --vcd -o run.vcd",
		Args:    cobra.ExactArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return exportRun(io, args[0], &o) },
	}
	f := c.Flags()
	recordsFlag(c, &o.records)
	f.BoolVar(&o.csv, "csv", false, "write CSV (RFC 4180)")
	f.BoolVar(&o.json, "json", false, "write JSON")
	f.BoolVar(&o.vcd, "vcd", false, "write VCD (IEEE 1364)")
	f.BoolVar(&o.semi, "semicolon", false, "with --csv: semicolons and decimal commas, for spreadsheets that want them")
	f.StringVarP(&o.file, "output", "o", "", "file to write (default: standard output)")
	c.MarkFlagsMutuallyExclusive("csv", "json", "vcd")
	c.MarkFlagsOneRequired("csv", "json", "vcd")
	return c
}

func exportRun(io streams, name string, o *exportOptions) error {
	if o.semi && !o.csv {
		return errors.New("--semicolon goes with --csv")
	}
	rec, err := runlog.Find(o.records, name)
	if err != nil {
		return err
	}
	if rec.Info.Virtual {
		fmt.Fprintln(io.err, runlog.Provenance(true, ""))
	}
	if o.file == "" {
		return o.write(io.out, rec)
	}
	if err := writeFile(o.file, o.writing(rec)); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "written: %s\n", o.file)
	return nil
}

func (o *exportOptions) write(w io.Writer, rec *runlog.Record) error {
	switch {
	case o.csv:
		return export.CSV(w, rec, o.semi)
	case o.json:
		return export.JSON(w, rec)
	}
	return export.VCD(w, rec)
}

func (o *exportOptions) writing(rec *runlog.Record) func(io.Writer) error {
	return func(w io.Writer) error { return o.write(w, rec) }
}
