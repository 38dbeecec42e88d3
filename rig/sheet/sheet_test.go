package sheet

import (
	"math"
	"os"
	"testing"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/linkage"
	"govrig/sim/pickup"
	"govrig/sim/rotor"
)

const rpm = math.Pi / 30

// trainer is a club's machine of our own invention: 9 teeth on 78.
func trainer() Setup {
	return Setup{
		Machine: "Club trainer",
		Stages:  []drive.Stage{{Driver: 9, Driven: 78, Efficiency: 0.96, Inertia: 2e-4}},
		Rotor: rotor.Params{
			Blades: 2, Radius: 0.75, Chord: 0.06, LiftSlope: 5.7, DragZero: 0.011,
			InducedFactor: 1.15, TipLoss: 0.96, Inertia: 0.0663, InflowMass: 1,
		},
		BladeMass: 0.17,
		Air:       air.Standard(),
		Linkage: linkage.Params{
			ServoArm: 0.014, CarbArm: 0.015, Pivots: 0.062, Rod: 0.060,
			ServoMid: math.Pi / 2, Travel: 40 * math.Pi / 180, CarbOpen: 126 * math.Pi / 180,
			Barrel: linkage.Barrel{Diameter: 0.013, Bore: 0.0085, Hole: 0.0085},
		},
		Pickup: pickup.Params{
			Magnet: pickup.Magnet{Diameter: 0.004, Length: 0.002, Remanence: 1.2},
			Count:  1, Pattern: pickup.Same, Radius: 0.030, Axis: pickup.Gapwise,
			Pole: pickup.South, Placement: pickup.Face, Gap: 0.0014,
			Sensor: pickup.Sensor{
				Kind: pickup.Unipolar, Normal: pickup.Gapwise, Depth: 0.0005,
				Operate: pickup.Point{Typical: 0.010, Worst: 0.012},
				Release: pickup.Point{Typical: 0.007, Worst: 0.004},
			},
		},
		Governor: Governor{
			Step: 20 * rpm, Low: 10000 * rpm, High: 18000 * rpm,
			SelectLow: 1100e-6, SelectHigh: 1900e-6, PulsesPerTurn: 1,
		},
		Speeds: []Speed{{"hover", 1660 * rpm}, {"cruise", 1800 * rpm}},
		Board:  HobbyBoard(),
	}
}
func TestShow(t *testing.T) {
	s, err := New(trainer())
	if err != nil { t.Fatal(err) }
	s.WriteText(os.Stdout)
}
func TestPlot(t *testing.T) {
	s, err := New(trainer())
	if err != nil { t.Fatal(err) }
	f,_ := os.Create("/tmp/x.svg")
	defer f.Close()
	s.WriteSVG(f)
}
