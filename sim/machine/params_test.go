package machine_test

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/air"
	"govrig/sim/drive"
	"govrig/sim/engine"
	"govrig/sim/machine"
	"govrig/sim/rotor"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

func load(t testing.TB, name string) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/" + name)
	require.NoError(t, err)
	return m
}

// The medium machine's values, turned into SI by hand.
func TestMediumInSI(t *testing.T) {
	m := load(t, "medium-15cc.yaml")
	p := m.HeliParams()
	near := func(want, got float64) { t.Helper(); require.InEpsilon(t, want, got, 1e-6) }
	near(15e-6, p.Engine.Displacement)
	near(3.6e-5, p.Engine.Inertia)
	near(350e3, p.Engine.PeakPressure)
	near(1235.693, p.Engine.PeakSpeed)
	near(5.0265482e-5, p.Engine.IntakeArea) // π/4·8² mm²
	near(2*math.Pi, p.Engine.Delay)
	near(40e3, p.Engine.FrictionConstant)
	near(30e3/(1235.693*1235.693), p.Engine.FrictionSquare)
	near(649.26248, p.Drive.Clutch.EngagementSpeed)
	near(78.0/9, m.Ratio())
	near(0.0514188+0.0014+0.06e-3*4.6*4.6, p.Rotor.Inertia) // 2·0.162·0.69²/3 + hub + tail
	near(0.11, p.Rotor.TailShare)
	near(1.12e-3, p.Servo.PulseLow)
	near(80*math.Pi/180, p.Servo.Travel)
	near(math.Pi/3/0.11, p.Servo.Rate)
	near(294.15, p.Air.Temperature)
	// ISO 2533 at 310 m: 101325·(1 − 2.25577e-5·310)^5.25588, worked out apart.
	require.InEpsilon(t, 97655.9, p.Air.Pressure, 1e-5)
	near(0.55, p.Air.Humidity)
	l := m.LinkageParams()
	near(0.062, l.Rod)
	near(40*math.Pi/180, l.Travel)
	near(0.0014, m.PickupParams().Gap)
	g := m.GovernorParams(16e6)
	near(1047.19755, g.SpeedLow)
	near(0.3*30/(1000*math.Pi), g.Gain)
	require.True(t, g.PickupLow)
	circuit, ok := m.Speed("circuit")
	require.True(t, ok)
	near(173.8348, float64(circuit.HeadSpeed))
	near(0.015, float64(*circuit.Limits.Band))
	_, ok = m.Speed("warp")
	require.False(t, ok)
}

// The straight line between the ends that the medium machine's file leaves to their
// defaults: 10000 rpm at 1100 µs, 18000 rpm at 1900 µs, so 10 rpm for 1 µs; 16
// ms hold four turns of 15000 rpm.
func TestSelectLine(t *testing.T) {
	g := load(t, "medium-15cc.yaml").Governor
	const rpm = math.Pi / 30
	for engine, pulse := range map[float64]float64{10000: 1100e-6, 14000: 1500e-6, 18000: 1900e-6} {
		require.InDelta(t, pulse, g.SelectPulse(engine*rpm), 1e-12)
		require.InDelta(t, engine*rpm, g.SelectSpeed(pulse), 1e-9)
	}
	require.InDelta(t, 1900e-6, g.SelectPulse(25000*rpm), 1e-12)
	require.InDelta(t, 1100e-6, g.SelectPulse(0), 1e-12)
	require.InDelta(t, 0.004, g.PulseSpacing(15000*rpm), 1e-12)
	g.PulsesPerTurn = 4
	require.InDelta(t, 0.001, g.PulseSpacing(15000*rpm), 1e-12)
}

// A ratio in place of teeth is exact to four decimals: 8.6667 is 86667/10000,
// and 8.5 is 17/2 in lowest terms (arithmetic by hand).
func TestRatioInPlaceOfTeeth(t *testing.T) {
	for ratio, want := range map[string][2]int{"8.6667": {10000, 86667}, "8.5": {2, 17}, "9": {1, 9}} {
		m, err := machine.Parse("a", []byte(edit(t, "driver: 9\n    driven: 78", "ratio: "+ratio)))
		require.NoError(t, err)
		stage := m.HeliParams().Drive.Stages[0]
		require.Equal(t, want, [2]int{stage.Driver, stage.Driven})
	}
}

// With stored steps the settings are spread over the line by their speed,
// unless the file gives their pulses; with no select input there is no pulse.
func TestSettingPulse(t *testing.T) {
	pulses := func(governor, hover string) (all []float64) {
		text := strings.Replace(edit(t, "  speed_step: 25 rpm", "  select: "+governor), "head_speed: 1480 rpm", "head_speed: 1480 rpm"+hover, 1)
		m, err := machine.Parse("a", []byte(text))
		require.NoError(t, err)
		require.Equal(t, governor != "steps" && hover != "", len(m.Cautions) > 0, "%v", m.Cautions)
		for _, s := range m.Speeds {
			if width, ok := m.SettingPulse(s); ok {
				all = append(all, math.Round(1e7*width)/10)
			}
		}
		return all
	}
	require.Equal(t, []float64{1100, 1500, 1900}, pulses("steps", ""))
	require.Equal(t, []float64{1000, 1500, 1900}, pulses("steps", "\n    select_pulse: 1 ms"))
	require.Empty(t, pulses("none", ""))
	require.Equal(t, []float64{1382.7, 1538.7, 1660}, pulses("continuous", ""))
}

// 1100 to 1900 µs: 8 µs for each percent, below 0 % too.
func TestTransmitter(t *testing.T) {
	m, err := machine.Parse("a", []byte(medium(t)+`
transmitter:
  pulse_at_0_percent: 1100 µs
  pulse_at_100_percent: 1900 µs
  modes:
    normal: {curve: [0 %, 45 %, 60 %]}
    loops:
      curve: [80 %, 60 %, 80 %]
      flown: ungoverned
  engine_cut: -12.5 %
`))
	require.NoError(t, err)
	tx := m.Transmitter
	require.Len(t, tx.Modes, 2)
	require.Equal(t, []string{"normal", "loops"}, []string{tx.Modes[0].Name, tx.Modes[1].Name})
	require.Equal(t, machine.Governed, tx.Modes[0].Flown)
	require.Equal(t, machine.Ungoverned, tx.Modes[1].Flown)
	require.InDelta(t, 1460e-6, tx.Pulse(tx.Modes[0].Curve[1]), 1e-12)
	require.InDelta(t, 1000e-6, tx.Pulse(*tx.EngineCut), 1e-12)
	require.Nil(t, tx.Hold)
	require.Nil(t, load(t, "medium-15cc.yaml").Transmitter)
}

func TestGreatestFrameRate(t *testing.T) {
	rate := unit.Frequency(333)
	require.Zero(t, machine.Servo{}.GreatestFrameRate())
	require.Zero(t, machine.Servo{Kind: machine.Digital}.GreatestFrameRate())
	require.Equal(t, 50.0, machine.Servo{Kind: machine.Analogue}.GreatestFrameRate())
	require.Equal(t, 333.0, machine.Servo{Kind: machine.Analogue, FrameRate: &rate}.GreatestFrameRate())
}

// What is assumed for petrol stands beside what is assumed for methanol.
func TestPetrolHasItsOwnDefaults(t *testing.T) {
	m, err := machine.Parse("a", []byte(edit(t, "displacement: 15 cm³", "displacement: 15 cm³\n  fuel: petrol")))
	require.NoError(t, err)
	require.InDelta(t, 45e3, float64(m.Engine.Friction), 1e-9)
	require.Contains(t, m.Defaults, "engine.mixture_lag: 90 ms")
	require.Contains(t, load(t, "medium-15cc.yaml").Defaults, "engine.mixture_lag: 60 ms")
}

// The pressure of a barometer takes the place of the altitude; a reversed
// servo has the open end of the throttle at the short pulse.
func TestLargeMachine(t *testing.T) {
	m := load(t, "large-23cc.yaml")
	p := m.HeliParams()
	require.InDelta(t, 95400, p.Air.Pressure, 1e-6)
	require.InDelta(t, 1.14e-3, p.Servo.PulseLow, 1e-12)
	require.InDelta(t, 1.9e-3, p.Servo.PulseHigh, 1e-12)
	require.Greater(t, p.Throttle[0], 0.95)
	require.Less(t, p.Throttle[len(p.Throttle)-1], 0.05)
	g := m.GovernorParams(16e6)
	require.InDelta(t, 1.9e-3, g.ThrottleClosed, 1e-12)
	require.True(t, m.LinkageParams().Crossed)
	require.Negative(t, m.LinkageParams().Travel)
	require.InEpsilon(t, 47.0/18*64/21, m.Ratio(), 1e-12)
	require.Contains(t, m.Notes, "two gear stages. The throttle", "on one line")
	require.Len(t, m.Speeds, 2)
	require.Equal(t, "hover", m.Speeds[0].Name)
}

// What is assumed is told, with the rod worked out.
func TestDefaultsAreListed(t *testing.T) {
	m := load(t, "small-6cc.yaml")
	require.Contains(t, m.Defaults, "throttle_servo.resolution: 1 µs")
	require.Contains(t, m.Defaults, "carburettor.barrel_hole: as bore")
	require.Contains(t, m.Defaults, "throttle_linkage.rod_length: 41 mm, which puts both arms square")
	require.InDelta(t, 0.041, float64(*m.Linkage.Rod), 1e-9)
	require.InDelta(t, 0.0056, float64(m.Carburettor.Hole), 1e-12)
	for _, d := range m.Defaults {
		require.NotContains(t, d, "throttle_servo.dead_band", "it is in the file")
	}
}

// The worked machines are plausible: a hover takes 300 to 1100 W, and the
// engine has 1.5 to 2.5 times that at the head (common practice, no source).
// Engine, barrel and load step leave the governor room at both ends.
func TestWorkedMachinesArePlausible(t *testing.T) {
	files, err := filepath.Glob("../../testdata/machines/*.yaml")
	require.NoError(t, err)
	for _, file := range files {
		m := load(t, filepath.Base(file))
		require.Empty(t, m.Cautions, file)
		p := m.HeliParams()
		r := rotor.New(p.Rotor, p.Air.Density())
		e := engine.New(p.Engine, p.Air.State(), 1e-4)
		train := drive.NewTrain(p.Drive.Stages)
		for _, s := range m.Speeds {
			head := float64(s.HeadSpeed)
			hover := r.Steady(head, r.CollectiveFor(float64(m.FlyingMass)*air.Gravity, head, 0), 0)
			require.Greater(t, hover.Power, 300.0, "%s %s", file, s.Name)
			require.Less(t, hover.Power, 1100.0, "%s %s", file, s.Name)
			crank := head * train.Ratio
			times := e.Torque(1, crank) * crank * train.Efficiency / hover.Power
			require.Greater(t, times, 1.5, "%s %s", file, s.Name)
			require.Less(t, times, 2.5, "%s %s", file, s.Name)
			for _, collective := range []float64{float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)} {
				load := r.Steady(head, collective, 0)
				opening := e.OpeningFor(load.Torque/train.Ratio/train.Efficiency, crank)
				require.Greater(t, opening, 0.1, "%s %s", file, s.Name)
				require.Less(t, opening, 0.9, "%s %s", file, s.Name)
			}
		}
	}
}

// A governor file takes the stand-in's place whole, with no quirk; its select line
// counts on the machine that it was measured with only. The machine's own stand-in as
// a file is the stand-in.
func TestOtherGovernor(t *testing.T) {
	m := load(t, "medium-15cc.yaml")
	own := m.GovernorParams(16e6)
	m.Other = m.StandInModel()
	require.Equal(t, own, m.GovernorParams(16e6))

	m.Other.Law.Gain = model.Known[unit.Gain](2*float64(m.StandIn.Gain), 0, "")
	m.Other.Setting.Points = []model.Point{{Pulse: 1.2e-3, Speed: 1000}, {Pulse: 1.6e-3, Speed: 1400}}
	got := m.GovernorParams(16e6)
	require.InEpsilon(t, 2*own.Gain, got.Gain, 1e-12)
	require.NotEqual(t, own.SpeedLow, got.SpeedLow)
	m.Other.Machine = "another"
	require.Equal(t, own.SpeedLow, m.GovernorParams(16e6).SpeedLow)

	m.StandIn.Quirk = "loss_opens"
	require.False(t, m.GovernorParams(16e6).LossOpen)
	m.Other = nil
	require.True(t, m.GovernorParams(16e6).LossOpen)
}
