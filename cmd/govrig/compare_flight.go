package main

import (
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"govrig/rig/advise/flight"
	"govrig/rig/execution"
	"govrig/rig/measure/logfile"
	"govrig/rig/measure/table"
	"govrig/rig/phase"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
	"govrig/rig/show/report"
	"govrig/sim/machine"
)

// flightOptions are the flags of a comparison with a log.
type flightOptions struct {
	event   float64
	columns []string
	svg     string
}

func (o *flightOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.Float64Var(&o.event, "event", 0, "time of the load change in the log, s; left out: where the speed is driven off furthest")
	f.StringArrayVar(&o.columns, "column", nil, "name of a column in the log, as for measure; may be repeated")
	f.StringVar(&o.svg, "svg", "", "also draw bench and flight into this SVG file")
}

// options turns the flags into those of the log.
func (o *flightOptions) options(c *cobra.Command) (out table.Options, err error) {
	out.Columns = logfile.Columns{}
	if c.Flags().Changed("event") {
		out.Event = &o.event
	}
	for _, text := range o.columns {
		if err := out.Columns.ParseColumn(text); err != nil {
			return out, err
		}
	}
	return out, nil
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// compareFlight lays the load step of a run beside that of a log.
func compareFlight(streams streams, records, run, path string, o table.Options, svg string) error {
	rec, err := runlog.Find(records, run)
	if err != nil {
		return err
	}
	r, m, err := replay.Load(rec)
	if err != nil {
		return err
	}
	if rec.Info.Procedure != "loadstep" || m == nil {
		return fmt.Errorf("%s is no load step: a flight is compared with a run of loadstep", rec.Name())
	}
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	o.Machine = m
	log, err := table.Event(file, o)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	c, err := besideFlight(r, m, log)
	if err != nil {
		return fmt.Errorf("%s: %w", rec.Name(), err)
	}
	if svg != "" {
		if err := writeFile(svg, func(w io.Writer) error { return report.FlightSVG(w, c) }); err != nil {
			return err
		}
		fmt.Fprintf(streams.err, "drawn: %s\n", svg)
	}
	return report.Flight(streams.out, rec, path, c, log.Notes)
}

// besideFlight takes the load change of a run that is like that of a flight.
func besideFlight(r *execution.Run, m *machine.Machine, log *table.Flown) (*flight.Comparison, error) {
	flown := flight.Read(log.Speed, log.Event, log.Setting)
	before, change := phase.Steady, phase.LoadOn
	if flown.Deviation.OK() && flown.Deviation.Value > 0 {
		before, change = phase.LoadOn, phase.LoadOff
	}
	name := log.Setting.Name
	if r.Setting.Name == name { // a run of one setting does not name it in its phases
		name = ""
	}
	drawn := r.Course.Heads()
	from, _ := drawn.Span(phase.Key{Kind: before, Setting: name})
	event, to := drawn.Span(phase.Key{Kind: change, Setting: name})
	if to <= event {
		return nil, fmt.Errorf("the run has no load step at the setting that was flown, %q", log.Setting.Name)
	}
	bench := flight.Read(drawn.HeadSpeed(from, to), drawn.Time[event], log.Setting)
	return flight.Compare(m, log.Setting, bench, flown), nil
}
