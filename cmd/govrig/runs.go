package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/runlog"
	"govrig/rig/show/report"
	"govrig/sim/words"
)

// recordsFlag is the folder of the runs.
func recordsFlag(c *cobra.Command, records *string) {
	c.Flags().StringVar(records, "records", "runs", "folder of the run records")
}

type runsOptions struct {
	records, machine, procedure, outcome, since, until string
	json                                               bool
}

func newRunsCommand(io streams) *cobra.Command {
	var o runsOptions
	c := &cobra.Command{
		Use:   "runs",
		Short: "List the runs that were kept, oldest first",
		Long: `Lists the run records, oldest first, with how each ended: its outcome (pass, fail,
not-run, error), stopped, or cut-off when the program was killed or the power
failed, or while the run is still going on; damaged when it cannot be read, with
the reason below.`,
		Example: "  govrig runs --machine mine --outcome fail\n  govrig runs --procedure loadstep --since 2026-03-01",
		Args:    cobra.NoArgs,
		RunE:    func(*cobra.Command, []string) error { return runs(io.out, io.err, &o) },
	}
	f := c.Flags()
	recordsFlag(c, &o.records)
	f.StringVar(&o.machine, "machine", "", "only machines with this in their name")
	f.StringVar(&o.procedure, "procedure", "", "only this procedure")
	f.StringVar(&o.outcome, "outcome", "", "only runs that ended so: pass, fail, not-run, error, stopped, cut-off, damaged")
	f.StringVar(&o.since, "since", "", "only runs from this day on, as 2026-03-01, or moment, as 2026-03-01T19:30")
	f.StringVar(&o.until, "until", "", "only runs up to this day or moment")
	f.BoolVar(&o.json, "json", false, "print one JSON document")
	return c
}

func runs(out, errs io.Writer, o *runsOptions) error {
	wanted, err := o.filter()
	if err != nil {
		return err
	}
	all, err := runlog.Summaries(o.records)
	if err != nil {
		return err
	}
	kept := []runlog.Summary{}
	for i := range all {
		if all[i].Problem != "" {
			fmt.Fprintln(errs, all[i].Problem)
		}
		if wanted(&all[i]) {
			kept = append(kept, all[i])
		}
	}
	if o.json {
		return words.JSON(out, struct {
			Schema string           `json:"schema"`
			Runs   []runlog.Summary `json:"runs"`
		}{"govrig/runs/1", kept})
	}
	if len(kept) == 0 {
		fmt.Fprintf(errs, "no such run in %s\n", o.records)
		return nil
	}
	return report.Runs(out, kept)
}

// filter makes a function that picks the wanted records.
func (o *runsOptions) filter() (func(*runlog.Summary) bool, error) {
	since, err := moment(o.since, false)
	if err != nil {
		return nil, err
	}
	until, err := moment(o.until, true)
	if err != nil {
		return nil, err
	}
	switch o.outcome {
	case "", "pass", "fail", "not-run", "error", "stopped", "cut-off", runlog.Damaged:
	default:
		return nil, fmt.Errorf("--outcome takes pass, fail, not-run, error, stopped, cut-off or damaged, not %q", o.outcome)
	}
	machine := strings.ToLower(o.machine)
	return func(r *runlog.Summary) bool {
		return strings.Contains(strings.ToLower(r.Machine), machine) &&
			(o.procedure == "" || r.Procedure == o.procedure) &&
			(o.outcome == "" || r.Ended == o.outcome) &&
			(since.IsZero() || !r.Began().Before(since)) &&
			(until.IsZero() || r.Began().Before(until))
	}, nil
}

// moment reads a day or a moment, in local time. The end of a day is the
// beginning of the next.
func moment(text string, end bool) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if at, err := time.ParseInLocation("2006-01-02", text, time.Local); err == nil {
		if end {
			at = at.AddDate(0, 0, 1)
		}
		return at, nil
	}
	at, err := time.ParseInLocation("2006-01-02T15:04", text, time.Local)
	if err != nil {
		return at, fmt.Errorf("%q is no day, as 2026-03-01, and no moment, as 2026-03-01T19:30", text)
	}
	return at, nil
}
