package table

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/logfile"
	"govrig/rig/measure/step"
	"govrig/sim/machine"
)

// Options says how a log is to be measured.
type Options struct {
	Columns logfile.Columns
	// Machine gives gear ratio, wanted speeds and limits; speeds are then those
	// of the head. Nil is not known.
	Machine *machine.Machine
	// Speed is the name of the speed setting that was flown. Empty takes the
	// nearest.
	Speed string
	// Event is the moment of the load or set-point step, s on the log's own
	// axis. Nil takes the first change of a load column, or else the deepest dip
	// or rise of a speed that had rested.
	Event *float64
	// Until ends the part that is measured. Nil takes all.
	Until *float64
	// Declared is the declared speed, rpm, by which percentages divide. Zero
	// takes the speed before the event, or the mean.
	Declared float64
	// Band is the tolerance band, full width, % of the declared speed.
	Band float64
	// Limits by the name of the measure.
	Limits  map[string]*measure.Limit
	Hunting hunting.Config
	Virtual bool // the log is that of a run without hardware

	reference string                // what Declared is: "declared" or "measured"
	found     bool                  // nobody named the event
	dips      bool                  // a dip is wanted rather than a rise
	near      *machine.SpeedSetting // that was flown
}

// DefaultBand is the tolerance band of ISO 8528-5 for performance class G2,
// full width, % (from memory: check your edition).
const DefaultBand = 2.0

// Validate refuses options that make no sense.
func (o Options) Validate() error {
	switch {
	case o.Declared != 0 && !(o.Declared >= leastSpeed && o.Declared <= mostSpeed):
		return fmt.Errorf("a declared speed of %g rpm makes no sense: it lies between %d and %d rpm", o.Declared, leastSpeed, mostSpeed)
	case !(o.Band >= leastBand && o.Band <= 100):
		return fmt.Errorf("a band of %g %% makes no sense: it lies between %g and 100 %%", o.Band, leastBand)
	case o.Event != nil && !sensible(*o.Event), o.Until != nil && !sensible(*o.Until):
		return fmt.Errorf("a time beyond %g s makes no sense", float64(mostTime))
	}
	for name, l := range o.Limits {
		if !has(Measures(), name) {
			return fmt.Errorf("no measure is called %q; there are: %s", name, strings.Join(Measures(), ", "))
		}
		if err := l.Validate(); err != nil {
			return fmt.Errorf("limit of %s: %w", name, err)
		}
		for _, end := range []*float64{l.Min, l.Max} {
			if end != nil && !(math.Abs(*end) <= mostLimit) {
				return fmt.Errorf("limit of %s: %g makes no sense", name, *end)
			}
		}
	}
	return nil
}

// Bounds of what makes sense.
const (
	leastSpeed = 1         // rpm
	mostSpeed  = 1_000_000 // rpm: beyond all that turns in a model; common practice, no source
	leastBand  = 0.001     // %
	mostTime   = 1e9       // s: thirty years
	mostLimit  = 1e9       // in any unit
)

// sensible reports whether a time can be one of a log, s.
func sensible(at float64) bool { return math.Abs(at) <= mostTime }

// Measure reads a log and measures it. An error means that the file or the
// options are at fault; what a sound file does not show is not run.
func Measure(r io.Reader, o Options) (measure.Result, error) {
	if err := o.Validate(); err != nil {
		return measure.Result{}, err
	}
	log, err := logfile.Read(r, o.Columns, about(o.Machine))
	if err != nil {
		return measure.Result{}, err
	}
	atHead(log, o.Machine)
	return Rows(log, o)
}

// Rows measures a log that was read; with a machine, speeds are those of the head.
func Rows(log *logfile.Log, o Options) (measure.Result, error) {
	notes := append(log.Took[:len(log.Took):len(log.Took)], log.Notes...)
	if o.Machine != nil {
		note, err := o.setting(log.Rows)
		if err != nil {
			return measure.Result{}, err
		}
		notes = append(notes, note)
	}
	if note := o.find(log.Rows); note != "" {
		notes = append(notes, note)
	}
	c, loads := newCollector(o), stepwise(log.Rows)
	defer c.scan.end()
	for _, r := range log.Rows {
		if !loads {
			r.Load = math.NaN()
		}
		c.add(r)
	}
	if err := c.check(); err != nil {
		return measure.Result{}, err
	}
	notes = append(notes, c.notes()...)
	o.reference = "declared"
	if o.Declared == 0 {
		o.Declared, o.reference = c.reference(), "measured"
		notes = append(notes, fmt.Sprintf("no declared speed was given: percentages divide by %.6g rpm, as measured; say --declared", o.Declared))
	}
	return c.result(o, notes), nil
}

// find looks for the event where nobody named one and no load column tells it.
func (o *Options) find(rows []logfile.Row) (note string) {
	if o.Event != nil || stepwise(rows) {
		return ""
	}
	found := happenings(rows)
	if dip := func(h happening) bool { return h.depth < 0 }; o.dips && slices.ContainsFunc(found, dip) {
		found = slices.DeleteFunc(found, func(h happening) bool { return !dip(h) })
	}
	h, note := choose(found)
	if h == nil {
		return ""
	}
	o.Event, o.found = &h.at, true
	if o.Until == nil {
		o.Until = &h.end
	}
	return note
}

// mostLoads is of how many values a load column may be and still be one of loads
// put on and off. A stick that is flown has more.
const mostLoads = 12

// stepwise reports whether the load changes from rest to rest while the rotor is
// held at speed.
func stepwise(rows []logfile.Row) bool {
	level, seen, changed := flownAt(rows), map[float64]bool{}, false
	for i, r := range rows {
		if math.IsNaN(r.Load) {
			continue
		}
		if seen[r.Load] = true; len(seen) > mostLoads {
			return false
		}
		changed = changed || i > 0 && r.Load != rows[i-1].Load && r.Speed > flying*level
	}
	return changed
}

// check refuses an event outside the log.
func (c *collector) check() error {
	if c.whole.n == 0 {
		return fmt.Errorf("no sample lies before the end that was asked for, %g s", c.until)
	}
	if c.given && (c.event <= c.whole.first || c.event >= c.whole.last) {
		return fmt.Errorf("the event at %g s lies outside the log, which goes from %g s to %g s",
			c.event, c.whole.first, c.whole.last)
	}
	return nil
}

// notes are what the person should know about the sampling.
func (c *collector) notes() (notes []string) {
	e := c.whole
	if e.n < 3 {
		return nil
	}
	mean := e.interval()
	switch {
	case e.gap > 10*mean:
		notes = append(notes, fmt.Sprintf("the log has a gap: no samples from %.3f s to %.3f s", e.gapFrom, e.gapTo))
	case e.gap > 1.5*e.shortest:
		notes = append(notes, fmt.Sprintf("sampling is irregular, %.4g to %.4g s between samples; each sample was taken at its own time", e.shortest, e.gap))
	}
	if mean > 0.5 {
		notes = append(notes, fmt.Sprintf("samples are %.3g s apart: is the time column really in seconds?", mean))
	}
	if c.full && c.load.known {
		notes = append(notes, fmt.Sprintf("the step is measured up to %.3f s, before the load changes again or the log grows too long", last(c.after.T)))
	}
	return notes
}

// reference is the speed to divide by when none was declared: the one before
// the event, or the mean of the log.
func (c *collector) reference() float64 {
	if !math.IsNaN(c.event) {
		if r := step.MeanSpeed(c.before.Between(c.event-beforeTime, c.event)); r.OK() {
			return r.Value
		}
	}
	if m := c.whole.mean(); m > 0 {
		return m
	}
	return math.Abs(c.whole.high)
}

func (c *collector) result(o Options, notes []string) measure.Result {
	s := newSteps(c, o)
	sheet := measure.NewSheet("measure", o.Virtual, declare(o, c, s.kind)...)
	for _, n := range notes {
		sheet.Warn("%s", n)
	}
	c.steady(sheet, o)
	s.take(sheet, c, o.Declared)
	takeHunting(sheet, c.scan.summary())
	return sheet.Result()
}

// steady takes mean and band: over the end of the log after an event, or over
// all of it.
func (c *collector) steady(sheet *measure.Sheet, o Options) {
	if !math.IsNaN(c.event) && c.after.Len() > 0 {
		window := c.after.Between(last(c.after.T)-c.after.Span()/4, math.Inf(1))
		sheet.Take(GovernedSpeed, step.MeanSpeed(window))
		sheet.Take(SteadyBand, step.SteadyBand(window, o.Declared))
		return
	}
	if c.whole.n < 8 {
		why := measure.Missing("%d samples are too few", c.whole.n)
		sheet.Take(GovernedSpeed, why)
		sheet.Take(SteadyBand, why)
		return
	}
	over := fmt.Sprintf("window %.2f s from %.2f s, the whole log", c.whole.last-c.whole.first, c.whole.first)
	sheet.Take(GovernedSpeed, measure.Read(c.whole.mean()).With("%s", over))
	sheet.Take(SteadyBand, measure.Read(100*(c.whole.high-c.whole.low)/o.Declared).With("%s", over))
}

func last(x []float64) float64 { return x[len(x)-1] }

func has(names []string, name string) bool {
	for _, n := range names {
		if n == name {
			return true
		}
	}
	return false
}
