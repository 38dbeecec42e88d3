package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"govrig/rig/measure"
	"govrig/rig/measure/logfile"
	"govrig/rig/measure/table"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
	"govrig/sim/machine"
)

// measureOptions are the flags of the measure command.
type measureOptions struct {
	event, until   float64
	declared, band float64
	columns        []string
	limits         []string
	machine, speed string
	json           bool
}

func newMeasureCommand(io streams) *cobra.Command {
	var o measureOptions
	c := &cobra.Command{
		Use:   "measure FILE",
		Short: "Measure a speed log from anywhere: steps, band, recovery, hunting",
		Long: `Reads a log of any style, a table with a row for each sample, and measures it. It
finds the columns of time and speed, and of throttle and load if there are any, with
their units (rpm, krpm, Hz, rad/s; s, ms, µs, h:mm:ss, dates), and says what it took;
--column names what it cannot tell. With --machine the speeds are those of the head,
and gear ratio, wanted speeds and limits are those of the machine file. FILE may be -
for standard input.

A load or set-point step is measured where --event says, or where a load column
changes, or else where the speed is driven off furthest. Every number names the
convention that it follows. What the log does not show is "not run", with the reason.`,
		Example: `  govrig measure flight.csv --machine mine.yaml
  govrig measure log.csv --event 12.5 --declared 16000
  govrig measure log.csv --column speed_rpm="Engine RPM" --limit steady_state_speed_band=..1.5
  govrig export last --csv | govrig measure - --column load=collective_deg`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			options, err := o.options(c)
			if err != nil {
				return err
			}
			return measureLog(io, args[0], options, o.json)
		},
	}
	f := c.Flags()
	f.StringVar(&o.machine, "machine", "", "machine file that gives gear ratio, wanted speeds and limits")
	f.StringVar(&o.speed, "speed", "", "speed setting of the machine file that was flown; left out: the nearest")
	f.Float64Var(&o.event, "event", 0, "time of the step, s on the log's own axis")
	f.Float64Var(&o.until, "until", 0, "measure only up to this time, s")
	f.Float64Var(&o.declared, "declared", 0, "declared speed, rpm, by which percentages divide")
	f.Float64Var(&o.band, "band", table.DefaultBand, "tolerance band, full width, % of the declared speed")
	f.StringArrayVar(&o.columns, "column", nil, "name of a column in the file, as speed_rpm=NAME, with its unit in brackets behind it where the file has none; may be repeated")
	f.StringArrayVar(&o.limits, "limit", nil, "limit of a measure, as NAME=LEAST..MOST, either end open; may be repeated")
	f.BoolVar(&o.json, "json", false, "print the result as one JSON document")
	return c
}

// options turns the flags into those of the measurement.
func (o *measureOptions) options(c *cobra.Command) (table.Options, error) {
	out := table.Options{Columns: logfile.Columns{}, Speed: o.speed, Declared: o.declared, Band: o.band, Limits: map[string]*measure.Limit{}}
	if c.Flags().Changed("event") {
		out.Event = &o.event
	}
	if c.Flags().Changed("until") {
		out.Until = &o.until
	}
	if c.Flags().Changed("declared") && !(o.declared > 0) {
		return out, fmt.Errorf("--declared takes a speed above 0 rpm, not %g", o.declared)
	}
	if o.speed != "" && o.machine == "" {
		return out, fmt.Errorf("--speed names a setting of a machine file: give --machine too")
	}
	if o.machine != "" {
		m, err := machine.Load(o.machine)
		if err != nil {
			return out, err
		}
		out.Machine = m
	}
	for _, text := range o.columns {
		if err := out.Columns.ParseColumn(text); err != nil {
			return out, err
		}
	}
	for _, text := range o.limits {
		name, limit, err := parseLimit(text)
		if err != nil {
			return out, err
		}
		out.Limits[name] = limit
	}
	return out, out.Validate()
}

// parseLimit reads "name=-10..12", with either end left open.
func parseLimit(text string) (string, *measure.Limit, error) {
	name, ends, ok := strings.Cut(text, "=")
	least, most, both := strings.Cut(ends, "..")
	if !ok || !both {
		return "", nil, fmt.Errorf("--limit takes NAME=LEAST..MOST, such as overshoot=..5, not %q", text)
	}
	var l measure.Limit
	var err error
	if l.Min, err = parseEnd(least); err == nil {
		l.Max, err = parseEnd(most)
	}
	if err != nil {
		return "", nil, fmt.Errorf("--limit %s: %w", name, err)
	}
	return name, &l, nil
}

// parseEnd reads one end of a limit; nothing is an open end.
func parseEnd(text string) (*float64, error) {
	if text == "" {
		return nil, nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return nil, fmt.Errorf("%q is no number", text)
	}
	return &v, nil
}

func measureLog(io streams, path string, o table.Options, json bool) error {
	file, err := openLog(io, path)
	if err != nil {
		return err
	}
	defer file.Close()
	log := bufio.NewReaderSize(file, 1<<16)
	o.Virtual = virtualRecord(path) || virtualExport(log)
	r, err := table.Measure(log, o)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if err := printLog(io.out, path, r, json); err != nil {
		return err
	}
	return judged(r)
}

func openLog(streams streams, path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(streams.in), nil
	}
	return os.Open(path)
}

// virtualExport reports whether the log is the export of a run that was made without
// hardware: its last column, source, says so.
func virtualExport(log *bufio.Reader) bool {
	begin, _ := log.Peek(4096)
	lines := strings.SplitN(string(begin), "\n", 3)
	if len(lines) < 3 {
		return false
	}
	last := func(line string) string {
		line = strings.TrimRight(line, "\r")
		return line[strings.LastIndexAny(line, ",;")+1:]
	}
	return last(lines[0]) == "source" && last(lines[1]) == "VIRTUAL"
}

// virtualRecord reports whether the log is the samples of a run record of form 1
// that was made without hardware.
func virtualRecord(path string) bool {
	if filepath.Base(path) != "samples.csv" {
		return false
	}
	record, err := runlog.Open(filepath.Dir(path))
	return err == nil && record.Info.Virtual
}

func printLog(w io.Writer, path string, r measure.Result, json bool) error {
	if json {
		return report.JSON(w, r)
	}
	head := fmt.Sprintf("Measured from %s", path)
	if r.Virtual {
		head = runlog.Provenance(true, "") + "\n" + head
	}
	if _, err := fmt.Fprintf(w, "%s\n\n", head); err != nil {
		return err
	}
	return r.WriteText(w)
}

// judged turns the outcome into the exit of the command. A log in which
// nothing could be measured is bad input.
func judged(r measure.Result) error {
	switch r.Outcome {
	case measure.Pass:
		return nil
	case measure.Error:
		return &exitError{code: exitUsage}
	}
	for _, m := range r.Measures {
		if m.Value != nil {
			return &exitError{code: exitFail}
		}
	}
	return &exitError{code: exitUsage, err: fmt.Errorf("nothing could be measured from this log")}
}
