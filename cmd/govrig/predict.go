package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"govrig/rig/advise/predict"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

type predictOptions struct {
	speed, gains, times string
	rods                string
	airs                []string
	json                bool
	svg, governor       string
}

func newPredictCommand(io streams) *cobra.Command {
	var o predictOptions
	c := &cobra.Command{
		Use:   "predict MACHINE",
		Short: "Simulate the load step for a grid of governor gains and integral times",
		Long: `Simulates the load step of the machine file for every pair of a governor gain and
an integral time, on all cores, and shows how far the speed dips, how soon it is
back, and where it hunts, with the linearised machine at each head speed. The
governor is the stand-in one; nothing is measured and no board is needed.

Gains are in % of throttle travel per 1000 rpm at the engine, times in s, rods in
mm, altitudes in m, temperatures in °C, unless written with a unit. A range
10..300 stands for values spaced evenly in ratio, 10..300/20 for twenty of them.`,
		Example: `  govrig predict mine.yaml
  govrig predict mine.yaml --speed circuit --gains 20..400/20 --times 0.2,0.4,0.8
  govrig predict mine.yaml --rod 60,64 --air 1500,30 --svg gains.svg`,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error { return runPredict(c.Context(), io, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.speed, "speed", "", "name of the speed setting in the machine file (default: the first)")
	f.StringVar(&o.gains, "gains", "", "gains to try, LOW..HIGH or a list (default: around the stand-in's)")
	f.StringVar(&o.times, "times", "", "integral times to try, LOW..HIGH or a list; 0 is no integral (default: around the stand-in's)")
	f.StringVar(&o.rods, "rod", "", "also with these lengths of the throttle rod, a list")
	f.StringArrayVar(&o.airs, "air", nil, "also in the air of ALTITUDE,TEMPERATURE; may be repeated")
	f.BoolVar(&o.json, "json", false, "print one JSON document, schema "+predict.Schema)
	f.StringVar(&o.governor, "governor", "", "a governor file (see identify) in place of the stand-in")
	f.StringVar(&o.svg, "svg", "", "also draw heat maps into this SVG file")
	return c
}

func runPredict(ctx context.Context, io streams, path string, o predictOptions) error {
	options, err := o.read()
	if err != nil {
		return err
	}
	m, err := machine.Load(path)
	if err != nil {
		return err
	}
	for _, caution := range m.Cautions {
		fmt.Fprintf(io.err, "caution: %s\n", caution)
	}
	if o.governor != "" {
		if m.Other, err = model.Load(o.governor); err != nil {
			return err
		}
	}
	options.Progress = cellProgress(io.err)
	p, err := predict.New(ctx, m, options)
	switch {
	case errors.Is(err, context.Canceled):
		return &exitError{code: exitStopped, err: errors.New("stopped before every cell was simulated; nothing is shown")}
	case err != nil:
		return err
	}
	return showPrediction(io, p, o)
}

func showPrediction(io streams, p *predict.Prediction, o predictOptions) error {
	if o.svg != "" {
		if err := drawPrediction(p, o.svg); err != nil {
			return err
		}
		fmt.Fprintf(io.err, "drawn: %s\n", o.svg)
	}
	write := p.WriteText
	if o.json {
		write = p.WriteJSON
	}
	if err := write(io.out); err != nil {
		return err
	}
	if p.Cases[0].Best < 0 {
		return &exitError{code: exitFail}
	}
	return nil
}

func drawPrediction(p *predict.Prediction, path string) error {
	return writeFile(path, p.WriteSVG)
}

// read turns the flags into options.
func (o *predictOptions) read() (p predict.Options, err error) {
	p.Speed = o.speed
	lists := []struct {
		text  string
		d     *unit.Dimension
		usual string
		n     int
		into  *[]float64
	}{
		{o.gains, unit.Gain(0).Dimension(), "%/krpm", 12, &p.Gains},
		{o.times, unit.Time(0).Dimension(), "s", 8, &p.Times},
		{o.rods, unit.Length(0).Dimension(), "mm", 3, &p.Rods},
	}
	for _, l := range lists {
		if l.text == "" {
			continue
		}
		if *l.into, err = predict.Values(l.text, l.d, l.usual, l.n); err != nil {
			return p, err
		}
	}
	for _, text := range o.airs {
		place, err := readPlace(text)
		if err != nil {
			return p, err
		}
		p.Airs = append(p.Airs, place)
	}
	return p, nil
}

func readPlace(text string) (predict.Place, error) {
	altitude, temperature, ok := strings.Cut(text, ",")
	if !ok {
		return predict.Place{}, fmt.Errorf("--air %q: write an altitude and a temperature, such as 1500,30", text)
	}
	a, err := predict.Values(altitude, unit.Length(0).Dimension(), "m", 0)
	t, fault := predict.Values(temperature, unit.Temperature(0).Dimension(), "°C", 0)
	if err := errors.Join(err, fault); err != nil {
		return predict.Place{}, err
	}
	return predict.Place{Altitude: a[0], Temperature: t[0]}, nil
}

// progressEvery is how often a long grid tells how far it is.
const progressEvery = 2 * time.Second

// cellProgress tells how far a grid is, unless it is done before that is due.
func cellProgress(w io.Writer) func(done, total int) {
	start := time.Now()
	next := progressEvery
	return func(done, total int) {
		if spent := time.Since(start); spent >= next && done < total {
			next = spent + progressEvery
			left := time.Duration(float64(spent) * float64(total-done) / float64(done))
			fmt.Fprintf(w, "%d of %d cells simulated, about %s left\n", done, total, max(time.Second, left.Round(time.Second)))
		}
	}
}
