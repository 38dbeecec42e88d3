package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"govrig/rig/identification"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/words"
)

const governorUsage = "with --virtual: a governor file (see identify) in place of the stand-in"

type identifyOptions struct {
	records, file string
	json          bool
}

func newIdentifyCommand(io streams) *cobra.Command {
	var o identifyOptions
	c := &cobra.Command{
		Use:   "identify MACHINE [RUN...]",
		Short: "Find out what kind of governor it is, and write a governor file",
		Long: `Reads what commission has kept of a governor on a machine, or else all runs with
the machine file as it is, or the runs that are named, and puts together what it is: the law that it governs by, how it measures
speed, its throttle line, when it arms, what it does in faults; each value with its
uncertainty and the run that it came from. A law that does not describe what was
measured is not written, and why. The proof is the load step: the one that the law
predicts beside the one that was measured.
The file stands in for the governor with --governor, in predict and in virtual runs
of any machine. No board is needed.
` + runArgument,
		Example: "  govrig identify trainer.yaml\n  govrig predict other.yaml --governor trainer-governor.yaml\n  govrig loadstep other.yaml --virtual --governor trainer-governor.yaml",
		Args:    cobra.MinimumNArgs(1),
		RunE:    func(_ *cobra.Command, args []string) error { return identify(io, args, &o) },
	}
	f := c.Flags()
	recordsFlag(c, &o.records)
	f.StringVarP(&o.file, "output", "o", "", "file to write, which must not exist yet; - for standard output (default: the machine file's name with -governor.yaml)")
	f.BoolVar(&o.json, "json", false, "print one JSON document, schema "+identification.Schema)
	return c
}

func identify(io streams, args []string, o *identifyOptions) error {
	m, err := machine.Load(args[0])
	if err != nil {
		return err
	}
	records, err := o.find(m, args[1:])
	if err != nil {
		return err
	}
	r, err := identification.Of(m, records)
	if err != nil {
		return err
	}
	if o.json {
		err = words.JSON(io.out, r)
	} else if o.file != "-" {
		err = r.WriteText(io.out)
	}
	if err != nil {
		return err
	}
	if err := o.keep(io, r, args[0]); err != nil {
		return err
	}
	if !r.Believed() || len(r.Differs) > 0 {
		return &exitError{code: exitFail}
	}
	return nil
}

// find finds the named runs, or those of the machine file's commission, or else all
// that were made with the file as it is.
func (o *identifyOptions) find(m *machine.Machine, names []string) (records []*runlog.Record, err error) {
	if len(names) == 0 {
		if names, err = commissionRuns(o.records, m.File, m); err != nil {
			return o.all(m, err)
		}
	}
	for _, name := range names {
		rec, err := runlog.Find(o.records, name)
		if err != nil {
			return nil, err
		}
		records = append(records, rec)
	}
	return records, nil
}

// all are the records that were made with a machine file as it is; none is the error
// that was given.
func (o *identifyOptions) all(m *machine.Machine, none error) (of []*runlog.Record, err error) {
	records, _, err := runlog.List(o.records, func(s *runlog.Summary) bool { return s.Machine == m.Name })
	if err != nil {
		return nil, none
	}
	for _, rec := range records {
		if text, err := rec.Machine(); err == nil && string(text) == m.Text {
			of = append(of, rec)
		}
	}
	if len(of) == 0 {
		return nil, none
	}
	return of, nil
}

// keep writes the governor file, where there is a law to write.
func (o *identifyOptions) keep(io streams, r *identification.Result, path string) error {
	if !r.Believed() {
		fmt.Fprintln(io.err, "No governor file is written.")
		return nil
	}
	if o.file == "-" {
		return r.Model.Write(io.out)
	}
	file := o.file
	if file == "" {
		file = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path)) + "-governor.yaml"
	}
	var text strings.Builder
	if err := r.Model.Write(&text); err != nil {
		return err
	}
	if err := writeNew(file, text.String()); err != nil {
		return err
	}
	fmt.Fprintf(io.err, "written: %s\n", file)
	return nil
}
