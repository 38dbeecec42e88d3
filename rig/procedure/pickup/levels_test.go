package pickup

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/emulator"
)

// line is a pickup's line with given levels, V, and what is to be said of it.
type line struct {
	name         string
	high, low    float64 // at the line, twice what the board's pin sees
	idle, active measure.Outcome
	words        string
}

var lines = []line{
	{"a sensor with its pull-up", 4.4, 0.2, measure.Pass, measure.Pass, "goes between 0.2 V and 4.4 V"},
	{"a weak pull-up", 1.8, 0.2, measure.Fail, measure.Pass, "high level stays below the 2.0 V"},
	{"a sensor that does not pull down", 4.4, 1.4, measure.Pass, measure.Fail, "low level does not come down to the 0.8 V"},
	{"a line that floats", 1.4, 1.4, measure.NotRun, measure.Fail, "the line floats"},
	{"no pull-up at all", 0.1, 0.05, measure.NotRun, measure.Pass, "stands at 0.1 V all the time"},
}

// on gives the sensor that is on the line.
func (l line) on(t *testing.T, m *machine.Machine) *turned.Sensor {
	s := mounted(t, m, m.PickupParams(), turned.Stretch{Time: 0.1, Speed: 0}, turned.Stretch{Time: 0.3, Speed: 1500 / execution.RPM})
	s.HighVolts, s.LowVolts = l.high/2, l.low/2
	return s
}

// requireLevels wants the levels read as they are: a converter of 10 bits has steps
// of 10 mV on the line (data sheet of the ATmega328P).
func (l line) requireLevels(t *testing.T, r *execution.Run, where string) {
	require.Contains(t, join(r.Found), l.words, "%s, %s", where, l.name)
	for name, c := range map[string]struct {
		outcome measure.Outcome
		volts   float64
	}{"idle_level": {l.idle, l.high}, "active_level": {l.active, l.low}} {
		m := r.Result.Find(name)
		require.Equal(t, c.outcome, m.Outcome, "%s, %s: %s", where, l.name, name)
		if m.Value != nil && l.high-l.low > 0.3 {
			require.InDelta(t, c.volts, *m.Value, 0.011, "%s, %s: %s", where, l.name, name)
		}
	}
}

func join(sentences []string) (all string) {
	for _, s := range sentences {
		all += s + "\n"
	}
	return all
}

// The levels of the line are read, and what is wrong with them is said: on the
// virtual board and through the converter of the real firmware.
func TestLevelsOfTheLine(t *testing.T) {
	m := proceduretest.Medium(t)
	require.Equal(t, machine.Low, m.Pickup.Active)
	o := &Options{Time: 3, Turning: 1500 / execution.RPM}
	var c Pickup
	for _, l := range lines {
		l.requireLevels(t, c.probed(t, m, l.on(t, m), o), "virtual")
		b := &execution.Bench{Machine: m, Where: "emulated", Board: &sensing{Board: proceduretest.EmulatedBoard(t, emulator.Options{}), sensor: l.on(t, m)}}
		r, err := c.Measure(context.Background(), b, o)
		require.NoError(t, err)
		l.requireLevels(t, r, "emulated")
	}
}

// Pulses at D7 with nothing of them at A0 are a wire that is missing, and no level.
func TestLevelsNeedTheirWire(t *testing.T) {
	p := &probing{Test: &execution.Test{Run: &execution.Run{}}, pulses: make([]execution.Pulse, 9)}
	require.Equal(t, "the board told no levels", p.readLevels().why)
	p.Run.Trace.Lowest, p.Run.Trace.Highest = []float64{0.7, 0.7}, []float64{0.72, 0.71}
	require.Contains(t, p.readLevels().why, "join the two")
	p.o.Coil = true
	require.Contains(t, p.readLevels().why, "a coil's line")
}
