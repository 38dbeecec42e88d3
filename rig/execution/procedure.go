package execution

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"govrig/rig/measure"
	"govrig/sim/machine"
)

// Procedure is one bench test, whole: what it is called, what it finds out, what
// has to be joined for it, and how it is run. All that lists, offers, walks,
// orders or replays procedures goes by these values.
type Procedure struct {
	// Name is its command and its name in records.
	Name string
	// Title heads it on a page.
	Title string
	// Short says in half a sentence what its command does, Long in some lines.
	Short, Long string
	// Examples are command lines without the program's name.
	Examples []string
	// Briefing is what the person is told before it starts. Its purpose is the
	// procedure's.
	Briefing Briefing
	// Wires is what has to be joined to the board for it.
	Wires Wires
	// PerSetting: a machine has passed only with a pass at each speed setting.
	PerSetting bool
	// Optional: the verdict can do without it, where an earlier one says why.
	Optional bool
	// Needless, where set, says why an optional procedure has no reason, or nothing,
	// by what others have come to.
	Needless func(outcome func(name string) measure.Outcome) string
	// Engine: the simulated engine turns in it, under a governor.
	Engine bool
	// Reads is what it reads of the machine file: sections and keys by path, those
	// with a minus before them left out. A change of anything else leaves what it
	// found as it is.
	Reads []string
	// Yields are the procedures beside whose pictures its own may be left out of
	// a print.
	Yields []string
	// Calm: a print may leave out its pictures when it has passed.
	Calm bool
	// New gives options at their defaults.
	New func() Options
}

// Wires is what a procedure wants joined to the board.
type Wires int

// What may be joined.
const (
	// Governor: the governor's inputs and its throttle output.
	Governor Wires = iota
	// Jumpers: two wires on the board itself.
	Jumpers
	// Probe: a real pickup at the probe.
	Probe
)

// Options are those of one call of a procedure. In JSON they are what its record
// keeps of them.
type Options interface {
	// Flags are those a person can set, on this value.
	Flags() []Flag
	// Check refuses what makes no sense, before anything is opened. virtual is a
	// run without hardware.
	Check(virtual bool) error
	// Measures are those that a run on the machine will take.
	Measures(m *machine.Machine) ([]measure.Declaration, error)
	// Simulate puts a virtual board on the bench with what is joined to it.
	Simulate(b *Bench) error
	// Run runs the procedure. The Run is not nil once the board was opened; when
	// the error is not nil its result tells how far it came.
	Run(ctx context.Context, b *Bench) (*Run, error)
}

// Flag is an option as a person sets it.
type Flag struct {
	Name, Usage string
	// Value points at what is set: *string, *bool, *int, *map[string]string, or
	// a Value.
	Value any
}

// Value is an option that is written in a way of its own.
type Value interface {
	Set(text string) error
	String() string
	Type() string
}

// Again runs the procedure with the options that a record holds.
func (p *Procedure) Again(ctx context.Context, b *Bench, recorded json.RawMessage) (*Run, error) {
	o := p.New()
	if err := json.Unmarshal(recorded, o); err != nil {
		return nil, fmt.Errorf("the record's options of %s: %w", p.Name, err)
	}
	return o.Run(ctx, b)
}

// NeedsMachine reports whether the procedure is about a machine.
func (p *Procedure) NeedsMachine() bool { return p.Wires != Jumpers }

// AllSpeeds as the name of a speed setting asks for every one of the machine.
const AllSpeeds = "all"

// AtSetting are options that name a speed setting: empty is the machine's first,
// AllSpeeds every one, where the procedure does several.
type AtSetting interface{ SetSpeed(name string) }

// Plain is embedded in options that have nothing to refuse, of a procedure that
// looks at a governor.
type Plain struct{}

// Check has nothing to refuse.
func (Plain) Check(bool) error { return nil }

// Simulate puts a virtual board with the stand-in governor on the bench.
func (Plain) Simulate(b *Bench) error { return b.PutStandIn() }

// Time is a length of time, s, that a person writes as 10s or 2m.
type Time float64

// Set reads a time.
func (t *Time) Set(text string) error {
	d, err := time.ParseDuration(text)
	*t = Time(d.Seconds())
	return err
}

// String writes the time as it is read.
func (t *Time) String() string { return time.Duration(float64(*t) * 1e9).String() }

// Type names what is to be written.
func (*Time) Type() string { return "duration" }

// Between refuses a time that is shorter than least or longer than an hour.
func Between(flag string, value, least Time) error {
	if value < least || value > longest {
		return fmt.Errorf("--%s takes from %gs to 1h", flag, least)
	}
	return nil
}

const longest Time = 3600
