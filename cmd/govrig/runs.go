package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"govrig/protocol/harmless"
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
failed, or while the run is still going on.`,
		Example: "  govrig runs --machine mine --outcome fail\n  govrig runs --procedure loadstep --since 2026-03-01",
		Args:    cobra.NoArgs,
		RunE:    func(*cobra.Command, []string) error { return runs(io.out, io.err, &o) },
	}
	f := c.Flags()
	recordsFlag(c, &o.records)
	f.StringVar(&o.machine, "machine", "", "only machines with this in their name")
	f.StringVar(&o.procedure, "procedure", "", "only this procedure")
	f.StringVar(&o.outcome, "outcome", "", "only runs that ended so: pass, fail, not-run, error, stopped, cut-off")
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
	records, unreadable, err := runlog.List(o.records)
	if err != nil {
		return err
	}
	for _, e := range unreadable {
		fmt.Fprintln(errs, harmless.Line(e.Error()))
	}
	var kept []*runlog.Record
	for _, r := range records {
		if wanted(r) {
			kept = append(kept, r)
		}
	}
	if o.json {
		return listJSON(out, kept)
	}
	if len(kept) == 0 {
		fmt.Fprintf(errs, "no such run in %s\n", o.records)
		return nil
	}
	return report.Runs(out, kept)
}

// filter makes a function that picks the wanted records.
func (o *runsOptions) filter() (func(*runlog.Record) bool, error) {
	since, err := moment(o.since, false)
	if err != nil {
		return nil, err
	}
	until, err := moment(o.until, true)
	if err != nil {
		return nil, err
	}
	switch o.outcome {
	case "", "pass", "fail", "not-run", "error", "stopped", "cut-off":
	default:
		return nil, fmt.Errorf("--outcome takes pass, fail, not-run, error, stopped or cut-off, not %q", o.outcome)
	}
	machine := strings.ToLower(o.machine)
	return func(r *runlog.Record) bool {
		return strings.Contains(strings.ToLower(r.Info.Machine), machine) &&
			(o.procedure == "" || r.Info.Procedure == o.procedure) &&
			(o.outcome == "" || report.Ended(r) == o.outcome) &&
			(since.IsZero() || !r.Started().Before(since)) &&
			(until.IsZero() || r.Started().Before(until))
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

// listed is one run in the JSON list.
type listed struct {
	Run       string  `json:"run"`
	Started   string  `json:"started"`
	Procedure string  `json:"procedure"`
	Machine   string  `json:"machine"`
	Speed     string  `json:"speed"`
	Virtual   bool    `json:"virtual"`
	Length    float64 `json:"length_s"`
	Ended     string  `json:"ended"`
}

func listJSON(w io.Writer, records []*runlog.Record) error {
	list := []listed{}
	for _, r := range records {
		length, err := r.Length()
		if err != nil {
			return err
		}
		list = append(list, listed{
			r.Name(), r.Info.Started, r.Info.Procedure, r.Info.Machine, r.Info.Speed, r.Info.Virtual, length, report.Ended(r),
		})
	}
	return words.JSON(w, struct {
		Schema string   `json:"schema"`
		Runs   []listed `json:"runs"`
	}{"govrig/runs/1", list})
}
