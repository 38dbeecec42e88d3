// Package pickup finds out what a real pickup gives while the shaft is turned.
package pickup

import (
	"context"
	"errors"
	"fmt"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/pickup"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
	"govrig/sim/unit"
)

// Procedure is the whole test.
var Procedure = execution.Procedure{
	Name: "pickup", Title: "Pickup",
	Short: "Check the pickup on the engine while you turn the shaft, with no engine running",
	Long: `Listens to a real sensor on the pickup probe while the shaft is turned by hand, drill or
electric starter: plug out, no fuel. Shows pulses a turn, their width and what gap
that means, twice a second, so that you can shift the sensor and watch. At the end
it says whether the pickup is mounted as the machine file has it, and what may be
wrong when it is not.`,
	Examples: []string{"pickup mine.yaml --port /dev/ttyACM0", `pickup mine.yaml --port COM3 --turning "1500 rpm" --watch --time 2m`, "pickup mine.yaml --virtual --mounted gap=4mm,pole=north"},
	Briefing: execution.Briefing{
		Purpose: "Finds out what the pickup on the engine gives while the shaft is turned, and whether it is mounted right.",
		Connect: []string{
			"the sensor's output through its circuit to the pickup probe (D7), grounds joined; nothing else;",
			"a sensor on its own has its supply from the board, one that stays in the governor from there",
		},
		Moves: []string{"the shaft, its fan and what they drive, as you turn it by hand, drill or electric starter"},
		Hurts: []string{
			"an engine that fires: plug out, fuel line off and carburettor empty, nothing that glows or sparks",
			"fan, drill and starter: keep fingers, sleeves, hair and the sensor's wires away from them",
			"rotor blades: take them off, a starter can bring the clutch in",
			"magnets that fly off: glued and secured, eyes covered; keep them from children and pacemakers",
		},
	},
	Wires: execution.Probe,
	Reads: []string{"pickup", "governor.pulses_per_turn"},
	New:   func() execution.Options { return &Options{Time: 30} },
}

// Options are those of the pickup test.
type Options struct {
	// Time is how long to watch at most, s.
	Time execution.Time
	// Watch goes on to the end of that time, even when all is clear before.
	Watch bool
	// Turning is the speed at which the shaft is turned, to a fifth or so; 0 asks.
	Turning Turning
	// Coil has the circuit for a coil on the probe: its line swings about a bias,
	// and has no levels to be judged.
	Coil bool `json:",omitempty"`
	// Mounted mounts the simulated pickup of a virtual run otherwise: gap, pole,
	// axis, facing, in the words of the machine file.
	Mounted map[string]string `json:"-"`
}

// Turning is a speed of the shaft, rad/s, that a person writes with its unit.
type Turning float64

// Set reads a speed.
func (t *Turning) Set(text string) error {
	speed, err := unit.Speed(0).Dimension().Parse(text)
	if err == nil && (speed < 1 || speed > 3000) {
		err = errors.New("takes from 10 rpm to 28000 rpm")
	}
	*t = Turning(speed)
	return err
}

// String writes the speed; nothing where it is not known.
func (t *Turning) String() string {
	if *t == 0 {
		return ""
	}
	return fmt.Sprintf("%.0f rpm", *t*execution.RPM)
}

// Type names what is to be written.
func (*Turning) Type() string { return "speed" }

// virtualTurning is how fast a simulated shaft is turned where nothing is said:
// 1500 rpm.
const virtualTurning = 1500 / execution.RPM

// Flags are those that a person can set.
func (o *Options) Flags() []execution.Flag {
	return []execution.Flag{
		{Name: "time", Usage: "how long to watch at most", Value: &o.Time},
		{Name: "watch", Usage: "watch to the end of that time, even when all is clear before", Value: &o.Watch},
		{Name: "coil", Usage: "the probe has the circuit for a coil: its line's levels are not judged", Value: &o.Coil},
		{Name: "turning", Usage: `about how fast drill or starter turns the shaft, such as "1500 rpm"; empty asks`, Value: &o.Turning},
		{Name: "mounted", Usage: "with --virtual: mount the simulated pickup otherwise: gap=…, pole=…, axis=…, facing=…, in the words of the machine file", Value: &o.Mounted},
	}
}

// Check refuses what makes no sense, and turns a simulated shaft.
func (o *Options) Check(virtual bool) error {
	if err := execution.Between("time", o.Time, 5); err != nil {
		return err
	}
	if o.Mounted != nil && !virtual {
		return errors.New("--mounted goes with --virtual only")
	}
	if virtual && o.Turning == 0 {
		o.Turning = virtualTurning
	}
	return nil
}

// Measures are those that a run on the machine takes.
func (*Options) Measures(m *machine.Machine) ([]measure.Declaration, error) {
	var j judge
	if err := j.prepare(m); err != nil {
		return nil, err
	}
	return pickupMeasures(m, &j), nil
}

// Simulate puts a virtual board on the bench with the machine's pickup on its
// probe, turned after a second's rest.
func (o *Options) Simulate(b *execution.Bench) error {
	p, err := mount(b.Machine.PickupParams(), o.Mounted)
	if err != nil {
		return err
	}
	low := b.Machine.Pickup.Active == machine.Low
	sensor, err := turned.New(p, low, turned.Stretch{Time: 1}, turned.Stretch{Time: 1, Speed: float64(o.Turning)})
	if err != nil {
		return err
	}
	b.Board = board.New(board.Options{Turned: sensor, Baud: b.Connection.Baud})
	return nil
}

// mount changes how a pickup is mounted.
func mount(p pickup.Params, changes map[string]string) (pickup.Params, error) {
	for key, value := range changes {
		switch key {
		case "gap":
			gap, err := unit.Length(0).Dimension().Parse(value)
			if err != nil {
				return p, fmt.Errorf("--mounted gap: %w", err)
			}
			p.Gap = gap
		case "pole":
			p.Pole = pickup.Pole(value)
		case "axis":
			p.Axis = pickup.Direction(value)
		case "facing":
			p.Sensor.Normal = pickup.Direction(value)
		default:
			return p, fmt.Errorf("--mounted knows gap, pole, axis and facing, not %q", key)
		}
	}
	return p, p.Validate()
}

// Run listens at the pickup probe while the person turns the shaft.
func (o *Options) Run(ctx context.Context, b *execution.Bench) (*execution.Run, error) {
	return new(Pickup).Measure(ctx, b, o)
}
