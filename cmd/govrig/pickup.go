package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/procedure"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
	"govrig/sim/pickup"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/board"
)

// pickupOptions are the flags of the pickup command.
type pickupOptions struct {
	benchOptions
	time    time.Duration
	watch   bool
	turning string
	coil    bool
	mounted map[string]string
}

func newPickupCommand(io streams) *cobra.Command {
	var o pickupOptions
	c := &cobra.Command{
		Use:   "pickup MACHINE",
		Short: "Check the pickup on the engine while you turn the shaft, with no engine running",
		Long: `Listens to a real sensor on the pickup probe while the shaft is turned by hand, drill or
electric starter: plug out, no fuel. Shows pulses a turn, their width and what gap
that means, twice a second, so that you can shift the sensor and watch. At the end
it says whether the pickup is mounted as the machine file has it, and what may be
wrong when it is not.`,
		Example: `  govrig pickup trainer.yaml --port /dev/ttyACM0
  govrig pickup trainer.yaml --port COM3 --turning "1500 rpm" --watch --time 2m
  govrig pickup trainer.yaml --virtual --mounted gap=4mm,pole=north`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			p, err := o.procedure()
			if err != nil {
				return err
			}
			o.simulate = func(b *procedure.Bench) error { return o.turn(b, p.Turning) }
			return perform(c.Context(), io, c.Name(), args[0], &o.benchOptions, procedure.PickupBriefing, func(ctx context.Context, b *procedure.Bench) (*procedure.Run, error) {
				return new(procedure.Pickup).Measure(ctx, b, p)
			})
		},
	}
	o.boardFlags(c)
	f := c.Flags()
	f.DurationVar(&o.time, "time", 30*time.Second, "how long to watch at most")
	f.BoolVar(&o.watch, "watch", false, "watch to the end of that time, even when all is clear before")
	f.BoolVar(&o.coil, "coil", false, "the probe has the circuit for a coil: its line's levels are not judged")
	f.StringVar(&o.turning, "turning", "", `about how fast drill or starter turns the shaft, such as "1500 rpm"; empty asks`)
	f.StringToStringVar(&o.mounted, "mounted", nil, "with --virtual: mount the simulated pickup otherwise: gap=…, pole=…, axis=…, facing=…, in the words of the machine file")
	return c
}

// virtualTurning is how fast the simulated shaft is turned.
const virtualTurning = "1500 rpm"

func (o *pickupOptions) procedure() (procedure.PickupOptions, error) {
	p := procedure.PickupOptions{Time: o.time.Seconds(), Watch: o.watch, Coil: o.coil}
	if o.time < 5*time.Second || o.time > time.Hour {
		return p, errors.New("--time takes from 5s to 1h")
	}
	if o.mounted != nil && !o.virtual {
		return p, errors.New("--mounted goes with --virtual only")
	}
	if o.turning == "" && o.virtual {
		o.turning = virtualTurning
	}
	if o.turning == "" {
		return p, nil
	}
	speed, err := unit.Speed(0).Dimension().Parse(o.turning)
	if err == nil && (speed < 1 || speed > 3000) {
		err = errors.New("takes from 10 rpm to 28000 rpm")
	}
	if err != nil {
		return p, fmt.Errorf("--turning: %w", err)
	}
	p.Turning = speed
	return p, nil
}

// turn puts a virtual board on the bench with the machine's pickup on its
// probe, turned after a second's rest.
func (o *pickupOptions) turn(b *procedure.Bench, speed float64) error {
	p, err := mount(b.Machine.PickupParams(), o.mounted)
	if err != nil {
		return err
	}
	low := b.Machine.Pickup.Active == machine.Low
	sensor, err := turned.New(p, low, turned.Stretch{Time: 1}, turned.Stretch{Time: 1, Speed: speed})
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
