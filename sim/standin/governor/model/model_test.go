package model

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/standin/governor"
	"govrig/sim/unit"
)

const perKrpm = 30 / (1000 * math.Pi) // share per rad/s for a share per 1000 rpm

// known is one with an estimate of every kind.
func known() *Model {
	m := &Model{Format: Format, Name: "Winter's \"new\" one", Machine: "Club trainer", Bench: "virtual", Date: "2026-11-28"}
	m.Law.Gain = Known[unit.Gain](0.3*perKrpm, 0.002*perKrpm, "a-sweep")
	m.Law.GainRise = Known[unit.Share](-0.25, 0.01, "a-sweep")
	m.Law.IntegralTime = Known[unit.Time](0.8, 0.004, "a-sweep")
	m.Law.WindUp = "yes"
	m.Measuring.Turns = Known[float64](1.5, 0.02, "a-sweep")
	m.Throttle.Step = Known[unit.Time](2e-6, 0, "a-throttle")
	m.Throttle.FrameRate = Known[unit.Frequency](71, 0.001, "a-throttle")
	m.Arming.On = Known[unit.Share](0.31, 0.001, "a-throttle")
	m.Arming.Off = Known[unit.Share](0.27, 0.001, "a-throttle")
	m.Setting.Points = []Point{
		{Pulse: 1.3e-3, Speed: 1200, Uncertainty: 1, Run: "a-hold"}, {Pulse: 1.5e-3, Speed: 1400, Uncertainty: 1, Run: "a-hold"},
	}
	m.Faults.LossTime, m.Faults.OnLoss = Known[unit.Time](0.25, 0.004, "a-faults"), "holds"
	at := unit.Time(0.256)
	m.Faults.Reactions = []Reaction{{Fault: "pickup_lost", Time: &at, Run: "a-faults"}}
	m.Fit = Fit{Residual: 0.008, Worst: 0.02, Lines: 78}
	return m
}

func written(t *testing.T, m *Model) string {
	var b bytes.Buffer
	require.NoError(t, m.Write(&b))
	return b.String()
}

// What is written is read again, to the digits that are written.
func TestWrittenIsRead(t *testing.T) {
	m := known()
	text := written(t, m)
	got, err := Parse("g.yaml", []byte(text))
	require.NoError(t, err, text)
	require.Equal(t, text, written(t, got))
	wanted, read := m.Entries(), got.Entries()
	for i := range wanted {
		require.Equal(t, wanted[i].Known, read[i].Known, wanted[i].Path)
		require.InEpsilon(t, 1+wanted[i].Value, 1+read[i].Value, 1e-4, wanted[i].Path)
		require.Equal(t, wanted[i].Run, read[i].Run)
	}
	require.Equal(t, m.Law.WindUp, got.Law.WindUp)
	require.Equal(t, m.Faults.OnLoss, got.Faults.OnLoss)
	require.Len(t, got.Setting.Points, 2)
	require.NotContains(t, text, "derivative", "what is not known is not there")
}

func TestRefusals(t *testing.T) {
	good := written(t, known())
	for old, want := range map[string][2]string{
		"value: 30 %/krpm":                       {"value: 30", "g.yaml:"},
		"value: 0.8 s":                           {"value: 800 s", "it runs from 1 ms to 100 s"},
		"uncertainty: 0.004 s, run: \"a-sweep\"": {"uncertainty: -1 s", "outside"},
		"integral_time":                          {"integral_tme", "did you mean “integral_time”?"},
		"pulse: 1500 µs":                         {"pulse: 1300 µs", "a second point at the same pulse"},
		"arm_off: {value: 27":                    {"arm_off: {value: 47", "it lies above arm_on"},
		"governor/1":                             {"machine/1", "g.yaml:"},
	} {
		require.Contains(t, good, old)
		_, err := Parse("g.yaml", []byte(strings.Replace(good, old, want[0], 1)))
		require.ErrorContains(t, err, want[1], old)
	}
	_, err := Load(t.TempDir() + "/none.yaml")
	require.ErrorContains(t, err, "there is no governor file")
}

// A law is taken whole: what it does not have is none, and not the machine file's.
func TestOn(t *testing.T) {
	machine := governor.Params{
		Gain: 1, IntegralTime: 2, DerivativeTime: 3, DerivativeLag: 4, FrameRate: 50, OutputStep: 1e-6,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 500, SpeedHigh: 600, ArmOn: 0.5, ArmOff: 0.4, ArmSpeed: 7, LossTime: 1,
	}
	m := known()
	p := m.On(machine)
	require.InDelta(t, 0.3*perKrpm, p.Gain, 1e-12)
	require.InDelta(t, 0.8, p.IntegralTime, 1e-12)
	require.Zero(t, p.DerivativeTime)
	require.Equal(t, 1.5, p.DeadTurns)
	require.Equal(t, 71.0, p.FrameRate)
	require.Equal(t, 7.0, p.ArmSpeed, "not known: the machine file's")
	require.True(t, p.LossOpen)
	require.True(t, p.WindUp)
	require.InDelta(t, 1000, p.SpeedLow, 1e-6)
	require.InDelta(t, 1800, p.SpeedHigh, 1e-6)
	require.Equal(t, machine, (&Model{}).On(machine), "nothing known changes nothing")
}
