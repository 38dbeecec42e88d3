package predict

import (
	"context"
	"io"
	"math"
	"slices"

	"govrig/sim/machine"
	"govrig/sim/words"
)

// Schema names the JSON document that a Prediction marshals to.
const Schema = "govrig/prediction/1"

// Options say what is to be predicted. The zero value takes the first speed
// setting of the machine and a grid around its stand-in governor.
type Options struct {
	// Speed is the name of the speed setting; empty is the first.
	Speed string
	// Gains of the governor, share of throttle travel per rad/s at the engine.
	Gains []float64
	// Times are its integral times, s; 0 leaves the integral out.
	Times []float64
	// Rods are other throttle rod lengths to try, m.
	Rods []float64
	// Airs are other places to try.
	Airs []Place
	// Workers is how many goroutines work; 0 is one for each core.
	Workers int
	// Progress, when set, is told how many cells of how many are done, one call
	// at a time.
	Progress func(done, total int)
}

// Place is where the machine runs.
type Place struct {
	Altitude    float64 // m
	Temperature float64 // K
}

// Prediction is what the load step will do. Everything in it is simulated.
type Prediction struct {
	Schema  string `json:"schema"`
	Machine string `json:"machine"`
	// Governor is the name of one that takes the stand-in's place; empty is none.
	Governor string `json:"governor,omitempty"`
	// Speed is the name of the speed setting.
	Speed         string  `json:"speed"`
	WantedHeadRPM float64 `json:"wanted_head_rpm"`
	// SetHeadRPM is the head speed that the governor can be set to.
	SetHeadRPM float64 `json:"set_head_rpm"`
	Load       Load    `json:"load_step"`
	// Gains and Times are the columns and rows of every case's cells.
	Gains []float64 `json:"gains_percent_per_krpm"`
	Times []float64 `json:"integral_times_s"`
	// Cases are the machine as its file has it, and after it each variation.
	Cases []Case `json:"cases"`
}

// Load is the load step.
type Load struct {
	LowDeg  float64 `json:"collective_low_deg"`
	HighDeg float64 `json:"collective_high_deg"`
	Ramp    float64 `json:"ramp_s"`
	// Watched is how long the speed is watched after the load comes on, s.
	Watched float64 `json:"watched_s"`
}

// Case is the grid for one form of the machine.
type Case struct {
	Name string `json:"name"`
	// Problem tells why there is no grid; empty when there is one.
	Problem string `json:"problem,omitempty"`
	// Plants are the linearised machine at each speed setting of the file, at
	// both ends of the load step.
	Plants []Plant `json:"plants"`
	// Cells in rows of one integral time.
	Cells []Cell `json:"cells"`
	// Best is the index of the best cell, or -1; Reason says why that one, or
	// why none.
	Best   int    `json:"best"`
	Reason string `json:"reason"`
	// Own is the index of the cell with the values of the machine file's
	// stand-in, or -1.
	Own int `json:"stand_in"`
}

// New predicts the load step of a machine. The error tells what is wrong with
// the options, or is that of ctx.
func New(ctx context.Context, m *machine.Machine, o Options) (*Prediction, error) {
	s, err := o.complete(m)
	if err != nil {
		return nil, err
	}
	forms, err := o.forms(m)
	if err != nil {
		return nil, err
	}
	p := describe(m, s, o)
	g := &grid{gains: o.Gains, times: o.Times, seconds: lead + watch(m), progress: o.Progress}
	p.Cases = make([]Case, len(forms))
	for i, f := range forms {
		p.Cases[i] = g.add(m, f, s)
	}
	if err := g.fill(ctx, o.Workers); err != nil {
		return nil, err
	}
	for i := range p.Cases {
		if err := p.Cases[i].finish(m, forms[i]); err != nil {
			return nil, err
		}
	}
	return p, nil
}

// describe is a prediction without its cases.
func describe(m *machine.Machine, s machine.SpeedSetting, o Options) *Prediction {
	held, _ := setting(m.GovernorParams(tickRate), s, m.Ratio())
	p := &Prediction{
		Schema: Schema, Machine: m.Name, Speed: s.Name,
		WantedHeadRPM: float64(s.HeadSpeed) * rpm, SetHeadRPM: held * rpm,
		Load: Load{
			LowDeg: float64(m.LoadStep.CollectiveLow) * degrees, HighDeg: float64(m.LoadStep.CollectiveHigh) * degrees,
			Ramp: float64(m.LoadStep.Ramp), Watched: watch(m),
		},
		Times: o.Times,
	}
	if m.Other != nil {
		p.Governor = m.Other.Name
	}
	for _, gain := range o.Gains {
		p.Gains = append(p.Gains, gain*perKrpm)
	}
	return p
}

// add makes the case of a form of the machine and, unless there is a problem,
// takes its cells up into the work.
func (g *grid) add(m *machine.Machine, f form, s machine.SpeedSetting) Case {
	c := Case{Name: f.name, Best: -1, Own: -1, Cells: []Cell{}}
	t, err := newTrial(m, f.params, s)
	if err != nil {
		c.Problem = problem(err)
		return c
	}
	c.Cells = make([]Cell, len(g.gains)*len(g.times))
	g.trials, g.cells = append(g.trials, t), append(g.cells, c.Cells)
	return c
}

// problem is an error without the name of the package that it comes from.
func problem(err error) string { return err.Error() }

// finish names the best cell and adds the linearised plants, with the margins
// that its setting has at every speed.
func (c *Case) finish(m *machine.Machine, f form) error {
	own := m.GovernorParams(tickRate)
	c.Own = slices.IndexFunc(c.Cells, func(x Cell) bool {
		return near(x.Gain, own.Gain*perKrpm) && near(x.Time, own.IntegralTime)
	})
	c.choose()
	var err error
	c.Plants, err = plants(m, f.params, c.best())
	return err
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*b }

// best is the best cell, or nil.
func (c *Case) best() *Cell {
	if c.Best < 0 {
		return nil
	}
	return &c.Cells[c.Best]
}

// WriteJSON writes the prediction as one indented document.
func (p *Prediction) WriteJSON(w io.Writer) error {
	return words.JSON(w, p)
}
