package sheet

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/linkage"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
	"govrig/sim/pickup"
	"govrig/sim/rotor"
	"govrig/sim/words"
)

const (
	rpm    = math.Pi / 30
	degree = math.Pi / 180
)

// medium is a club's machine of our own invention: 9 teeth on 78.
func medium() Setup {
	hold, cut := unit.Share(0.1), unit.Share(-0.1)
	return Setup{
		Machine: "Medium machine",
		Stages:  []drive.Stage{{Driver: 9, Driven: 78, Efficiency: 0.96, Inertia: 2e-4}},
		Rotor: rotor.Params{
			Blades: 2, Radius: 0.69, Chord: 0.06, LiftSlope: 5.7, DragZero: 0.011,
			InducedFactor: 1.15, TipLoss: 0.96, Inertia: rotor.RodInertia(2, 0.16, 0.69), InflowMass: 1,
		},
		BladeMass: 0.16,
		Air:       air.Standard(),
		Linkage: linkage.Params{
			ServoArm: 0.014, CarbArm: 0.015, Pivots: 0.062, Rod: 0.060,
			ServoMid: 90 * degree, Travel: 40 * degree, CarbOpen: 126 * degree,
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
		Governor: machine.Governor{
			SpeedStep: 20 * rpm, SpeedLow: 10000 * rpm, SpeedHigh: 18000 * rpm,
			SelectLow: 1100e-6, SelectHigh: 1900e-6, PulsesPerTurn: 1,
		},
		Speeds: []Speed{{Name: "hover", Head: 1660 * rpm}, {Name: "brisk", Head: 1900 * rpm}}, GreatestHead: 2100 * rpm,
		Transmitter: &machine.Transmitter{
			Low: 1100e-6, High: 1900e-6, Hold: &hold, EngineCut: &cut,
			Modes: machine.FlightModes{{Name: "normal", Curve: []unit.Share{0, 0.5, 1}, Flown: machine.Governed}},
		},
		Board: HobbyBoard(),
	}
}

// squared is the medium machine with nothing left to change.
func squared() Setup {
	s := medium()
	s.Linkage.Rod = s.Linkage.SquareRod()
	s.Linkage.CarbOpen = 126.9 * degree
	return s
}

func sheetOf(t *testing.T, s Setup) *Sheet {
	t.Helper()
	sheet, err := New(s)
	require.NoError(t, err)
	return sheet
}

func TestSpeeds(t *testing.T) {
	sheet := sheetOf(t, medium())
	require.InDelta(t, 78.0/9, sheet.Gears.Ratio, 1e-12)

	hover := sheet.Speeds[0]
	require.Equal(t, 1660.0, hover.WantedHeadRPM)
	require.InDelta(t, 14386.667, hover.WantedEngineRPM, 1e-3)
	require.Equal(t, 14380.0, hover.SetEngineRPM)
	require.InDelta(t, 14380*9/78.0, hover.SetHeadRPM, 1e-9)
	require.InDelta(t, 14380/60.0, hover.PulsesPerSecond, 1e-9)
	require.InDelta(t, 1100+800*4380/8000.0, hover.SelectUS, 1e-9)
	width := sheet.Pickup.WidthPercent / 100
	require.InDelta(t, 1e6*width*60/14380, hover.PulseWidthUS, 1e-6)

	// Two rods of 0.16 kg and 0.69 m at 1900 rpm: 1005.22 J and 2185 N per
	// blade by I = n·m·R²/3 and F = m·ω²·R/2 (any handbook of mechanics); the
	// governor's step takes it to 1899.23 rpm.
	brisk := sheet.Speeds[1]
	up := brisk.SetHeadRPM / 1900
	require.InDelta(t, 1899.2308/1900, up, 1e-7)
	require.InDelta(t, 1005.22, brisk.StoredJ/(up*up), 5e-3)
	require.InDelta(t, 2185, brisk.BladePullN/(up*up), 0.5)
	require.InDelta(t, 137.288, brisk.TipSpeedMS/up, 1e-3)
	// Speed of sound of the standard atmosphere at sea level, ISO 2533.
	require.InDelta(t, 137.288/340.294, brisk.TipMach/up, 1e-5)
	// One tick of 62.5 ns in a period of 1/f changes the speed by f·tick.
	require.InDelta(t, brisk.SetEngineRPM*brisk.PulsesPerSecond*62.5e-9, brisk.TickErrorRPM, 1e-9)
}

// 1000 J: v = √(2E/m) = 1.414 m/s for 1000 kg, h = E/(mg) = 20.4 m for 5 kg.
func TestFeels(t *testing.T) {
	require.Equal(t, "a small car (1000 kg) at 5.1 km/h, or a 5 kg hammer dropped from 20 m", feels(1000))
	require.Contains(t, feels(100), "dropped from 2.0 m")
}

// The arms of 10 and 12.5 mm, 60 mm apart, as in the tests of sim/linkage.
func TestThrottle(t *testing.T) {
	s := medium()
	s.Linkage.ServoArm, s.Linkage.CarbArm, s.Linkage.Pivots = 0.010, 0.0125, 0.060
	s.Linkage.Rod, s.Linkage.Travel = 0.058, 30*degree
	throttle := sheetOf(t, s).Throttle
	require.InDelta(t, 60.052, throttle.SquareRodMM, 1e-3)
	require.InDelta(t, 90, throttle.Square.MidCarbDeg, 1e-9)
	require.InDelta(t, 23.642273, throttle.Square.OpenThrowDeg, 1e-6)
	require.InDelta(t, 23.511455, throttle.Square.ClosedThrowDeg, 1e-6)
	require.InDelta(t, 0, throttle.Square.Points[spots-1].BarrelDeg, 1e-9)
	require.InDelta(t, 100, throttle.Square.Points[spots-1].AreaPct, 1e-6)
	require.Less(t, throttle.Square.SlopeSpreadPercent, throttle.AsBuilt.SlopeSpreadPercent)
	require.Less(t, math.Abs(throttle.Square.AsymmetryPercent), math.Abs(throttle.AsBuilt.AsymmetryPercent))
	require.InDelta(t, 0.8, throttle.Square.SlopeMax, 0.01)
}

// Mirrored, the linkage opens the other way and must give the same course.
func TestThrottleOpeningTowardTheCarburettor(t *testing.T) {
	s := squared()
	s.Linkage.ServoArm = s.Linkage.CarbArm // a parallelogram is its own mirror
	s.Linkage.Rod, s.Linkage.CarbOpen = s.Linkage.Pivots, 130*degree
	away := sheetOf(t, s).Throttle.AsBuilt
	s.Linkage.Travel, s.Linkage.CarbOpen = -s.Linkage.Travel, 50*degree
	toward := sheetOf(t, s).Throttle.AsBuilt
	for i := range away.Points {
		require.InDelta(t, away.Points[i].AreaPct, toward.Points[i].AreaPct, 1e-6)
		require.InDelta(t, away.Points[i].BarrelDeg, toward.Points[i].BarrelDeg, 1e-6)
	}
	require.InDelta(t, away.GainRatio(), toward.GainRatio(), 1e-6)
}

func TestPickupOrientations(t *testing.T) {
	part := sheetOf(t, medium()).Pickup
	require.Len(t, part.Orientations, 6)
	counts := map[string]int{}
	for _, a := range part.Orientations {
		counts[a.Words] = a.PulsesPerTurn
		require.Equal(t, a.Words == part.Words, a.AsBuilt)
	}
	require.Equal(t, map[string]int{
		"south pole toward the sensor": 1, "north pole toward the sensor": 0,
		"along the travel, south pole leading": 1, "along the travel, north pole leading": 1,
		"along the radius, south pole outward": 0, "along the radius, north pole outward": 0,
	}, counts)
	require.Greater(t, part.LargestGapMM, part.GapMM)
	require.Empty(t, part.Remedy)
}

func TestPickupRemedy(t *testing.T) {
	cases := map[string]func(*pickup.Params){
		"turn the sensor over":                 func(p *pickup.Params) { p.Pole = pickup.North },
		"turn the sensor a quarter":            func(p *pickup.Params) { p.Sensor.Normal = pickup.Crosswise },
		"bring the sensor nearer":              func(p *pickup.Params) { p.Gap = 0.0065 },
		"mount the magnet with its south pole": func(p *pickup.Params) { p.Axis = pickup.Crosswise },
	}
	for words, spoil := range cases {
		s := medium()
		spoil(&s.Pickup)
		sheet := sheetOf(t, s)
		require.Contains(t, sheet.Pickup.Remedy, words)
		require.Contains(t, sheet.Changes[0], words)
		require.Zero(t, sheet.Speeds[0].PulseWidthUS)
	}
}

func TestBoardProblems(t *testing.T) {
	b := HobbyBoard()
	require.Empty(t, b.problem(1./240, 160e-6))
	require.Empty(t, b.problem(1./240, 0))
	require.Contains(t, b.problem(1./2001, 150e-6), "too many")
	require.Contains(t, b.problem(1./49, 150e-6), "too few")
	require.Contains(t, b.problem(1./240, 99e-6), "too short")
	require.Contains(t, b.problem(1./240, 1./240-99e-6), "between pulses")

	s := squared()
	s.Board.MinWidth = 1e-3
	sheet := sheetOf(t, s)
	require.False(t, sheet.Board.PlaysAll)
	require.Contains(t, strings.Join(sheet.Changes, " "), "too short")
}

func TestNothingToChange(t *testing.T) {
	require.Empty(t, sheetOf(t, squared()).Changes)
}

func TestChanges(t *testing.T) {
	frames := unit.Frequency(71)
	cases := map[string]func(*Setup){
		"make it 2.0 mm longer":       func(s *Setup) { s.Linkage.Rod -= 0.002 },
		"make it 1.5 mm shorter":      func(s *Setup) { s.Linkage.Rod += 0.0015 },
		"not square":                  func(s *Setup) { s.Linkage.ServoMid = 80 * degree },
		"halves of the throw":         func(s *Setup) { s.Linkage.ServoArm, s.Linkage.Travel = 0.018, 50*degree; square(s) },
		"Better: a servo arm of":      func(s *Setup) { s.Linkage.ServoArm, s.Linkage.Travel = 0.0105, 65*degree; square(s) },
		"of one line":                 func(s *Setup) { s.Linkage.ServoArm, s.Linkage.Travel = 0.014, 58*degree; square(s) },
		"past fully open":             func(s *Setup) { s.Linkage.CarbOpen -= 5 * degree },
		"further toward open":         func(s *Setup) { s.Linkage.CarbOpen += 10 * degree },
		"at the closed end":           func(s *Setup) { s.Linkage.Travel = 25 * degree; s.Linkage.CarbOpen = 112 * degree },
		"shut over the first":         func(s *Setup) { s.Linkage.CarbOpen += 25 * degree },
		"no longer grows":             func(s *Setup) { s.Linkage.CarbOpen -= 20 * degree },
		"times as fast":               func(s *Setup) { s.Linkage.CarbOpen += 13 * degree },
		"comes no nearer":             func(s *Setup) { s.Speeds[0].Head = 1000 * rpm },
		"Mach 0.5":                    func(s *Setup) { s.Speeds[0].Head = 2100 * rpm; s.Rotor.Radius = 0.8 },
		"Blades: find the greatest":   func(s *Setup) { s.GreatestHead = 0 },
		"allows 2050. Lower that end": func(s *Setup) { s.GreatestHead = 2050 * rpm },
		"above the 1897 that the": func(s *Setup) {
			s.GreatestHead, s.Governor.SpeedStep, s.Speeds[1].Head = 1897.2*rpm, 50*rpm, 1897*rpm
		},
		"Find out whether the throttle servo":                       func(s *Setup) { s.Governor.FrameRate = &frames },
		"71 pulses a second, and the throttle servo is made for 50": func(s *Setup) { s.Governor.FrameRate, s.ServoFrames = &frames, 50 },
		"told 2: it would hold 2 time":                              func(s *Setup) { s.Governor.PulsesPerTurn = 2 },
		"stays on all the time": func(s *Setup) {
			s.Pickup.Sensor.Kind, s.Pickup.Gap = pickup.Latch, 0.004
			s.Pickup.Sensor.Release = pickup.Point{Typical: -0.010, Worst: -0.012}
		},
		"end of its tolerance":   func(s *Setup) { s.Pickup.Sensor.Operate.Worst = 0.3 },
		"field is only 1.5 time": func(s *Setup) { s.Pickup.Sensor.Operate.Worst = 0.081 },
	}
	for words, spoil := range cases {
		t.Run(words, func(t *testing.T) {
			s := squared()
			spoil(&s)
			require.Contains(t, strings.Join(sheetOf(t, s).Changes, " "), words)
		})
	}
}

func square(s *Setup) {
	s.Linkage.Rod = s.Linkage.SquareRod()
}

// What a kind of machine needs to be told stands on its sheet, and not on that
// of another.
func TestWordsOfTheKind(t *testing.T) {
	for words, change := range map[string]func(*Setup){
		"Petrol vapour creeps":                 func(s *Setup) { s.Fuel = machine.Petrol },
		"goes through the skin":                func(s *Setup) { s.Fuel = machine.Methanol },
		"has no select input: set it to these": func(s *Setup) { s.Governor.Select = machine.SelectNone },
		"picks one of the speeds that are":     func(s *Setup) { s.Governor.Select = machine.SelectSteps },
		"lies on a straight line":              func(s *Setup) { s.Governor.Select = machine.SelectContinuous },
		"(by the ratio in the machine file)":   func(s *Setup) { s.ByRatio = true },
		"(teeth 78 : 9)":                       func(s *Setup) {},
		"    percent     0   50  100\n    µs       1100 1500 1900\n  Throttle hold: 10 %, 1180 µs.\n  Engine cut: -10 %, 1020 µs.\n": func(*Setup) {},
		"  normal, not governed, from the bottom of the stick":                                                                       func(s *Setup) { s.Transmitter.Modes[0].Flown = machine.Ungoverned },
		"  normal, governed over the whole stick, from the bott":                                                                     func(*Setup) {},
	} {
		s := medium()
		change(&s)
		require.Contains(t, textOf(t, s), words)
	}
	s := medium()
	s.Transmitter, s.Fuel, s.Governor.Select = nil, machine.Petrol, machine.SelectNone
	text := textOf(t, s)
	for _, words := range []string{"TRANSMITTER", "Methanol", "straight line"} {
		require.NotContains(t, text, words)
	}
}

func textOf(t *testing.T, s Setup) string {
	var text bytes.Buffer
	require.NoError(t, sheetOf(t, s).WriteText(&text))
	return text.String()
}

// Every machine file gives a page for a person: lines fit, the cautions stand.
func TestTextOfEveryMachine(t *testing.T) {
	for _, file := range machines(t) {
		m, err := machine.Load(file)
		require.NoError(t, err)
		var text bytes.Buffer
		require.NoError(t, sheetOf(t, FromMachine(m, HobbyBoard())).WriteText(&text))
		for line := range strings.Lines(text.String()) {
			require.LessOrEqual(t, words.Width(strings.TrimSuffix(line, "\n")), words.Columns, line)
			require.NotContains(t, line, "NaN")
			require.NotContains(t, line, "%!")
		}
		flat := strings.Join(strings.Fields(text.String()), " ")
		for _, caution := range []string{m.Name, "plane of the blades", "5 V or 3.3 V", "hold it mechanically", "Nothing here has been measured"} {
			require.Contains(t, flat, caution)
		}
	}
}

func machines(t *testing.T) []string {
	files, err := filepath.Glob("../../../testdata/machines/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	return files
}

// The field names are a promise to whoever reads the JSON: the list in
// testdata is every one of them.
func TestJSONFields(t *testing.T) {
	var doc bytes.Buffer
	require.NoError(t, sheetOf(t, medium()).WriteJSON(&doc))
	var tree map[string]any
	require.NoError(t, json.Unmarshal(doc.Bytes(), &tree))
	require.Equal(t, "govrig/sheet/1", tree["schema"])
	fields := slices.Compact(slices.Sorted(slices.Values(paths("", tree))))
	want, err := os.ReadFile("testdata/fields.txt")
	require.NoError(t, err)
	require.Equal(t, string(want), strings.Join(fields, "\n")+"\n")
}

func paths(at string, value any) (all []string) {
	switch v := value.(type) {
	case map[string]any:
		for key, each := range v {
			all = append(all, paths(at+"."+key, each)...)
		}
	case []any:
		all = append(all, at+"[]")
		for _, each := range v {
			all = append(all, paths(at+"[]", each)...)
		}
	default:
		all = append(all, at)
	}
	return all
}

// The plot is well-formed XML that shows both courses and names its units.
func TestSVG(t *testing.T) {
	var svg bytes.Buffer
	require.NoError(t, sheetOf(t, medium()).WriteSVG(&svg))
	text := svg.String()
	for _, want := range []string{"as built", "square rod", "open area, %", "servo travel", "Medium machine", "sans-serif"} {
		require.Contains(t, text, want)
	}
	require.NotContains(t, text, "NaN")
	decoder := xml.NewDecoder(&svg)
	for {
		_, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
	}
}

func TestFaultySetups(t *testing.T) {
	cases := map[string]func(*Setup){
		"rotor":             func(s *Setup) { s.Rotor.Radius = 0 },
		"air":               func(s *Setup) { s.Air.Pressure = 0 },
		"no stage":          func(s *Setup) { s.Stages = nil },
		"rod is too short":  func(s *Setup) { s.Linkage.Rod = 0.030 },
		"pickup: Count":     func(s *Setup) { s.Pickup.Count = 0 },
		"no head speed":     func(s *Setup) { s.Speeds = nil },
		"head speed":        func(s *Setup) { s.Speeds[0].Head = math.NaN() },
		"governor facts":    func(s *Setup) { s.Governor.PulsesPerTurn = 0 },
		"governor facts ca": func(s *Setup) { s.Governor.SpeedStep = -1 },
	}
	for text, spoil := range cases {
		s := medium()
		spoil(&s)
		_, err := New(s)
		require.ErrorContains(t, err, text)
	}
}
