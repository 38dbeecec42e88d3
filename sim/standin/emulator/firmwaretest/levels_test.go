package firmwaretest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/sim/standin/emulator"
)

// probing starts a session that times the probe.
func (b *bench) probing() {
	b.t.Helper()
	c := settings()
	c.Options = protocol.OptionCaptureProbe
	b.configure(c)
}

// levels gives the next Levels, and how many telemetry frames came before it.
func (b *bench) levels() (m protocol.Levels, frames int) {
	b.t.Helper()
	for {
		got := b.next()
		if got[0] == protocol.LevelsID {
			require.NoError(b.t, m.Parse(got))
			return m, frames
		}
		require.Equal(b.t, byte(protocol.TelemetryID), got[0])
		frames++
	}
}

// Levels are what the data sheet's converter makes of a voltage, V × 1024 / 5 V
// ("ADC Conversion Result"), and only of the time since the last ones.
func TestLevels(t *testing.T) {
	b := newBench(t, "")
	b.probing()
	hold := func(millivolts uint16) { require.NoError(t, b.Millivolts(emulator.LevelChannel, b.Now(), millivolts)) }
	hold(3_000)
	_, frames := b.levels()
	require.Equal(t, protocol.LevelsEvery, frames)
	m, frames := b.levels()
	require.Equal(t, protocol.LevelsEvery, frames)
	require.Equal(t, protocol.Levels{Lowest: 614, Highest: 614}, m)
	hold(4_999)
	b.run(millisecond)
	hold(20)
	b.run(millisecond)
	hold(3_000)
	m, _ = b.levels()
	require.Equal(t, protocol.Levels{Lowest: 4, Highest: 1023}, m)
	m, _ = b.levels()
	require.Equal(t, protocol.Levels{Lowest: 614, Highest: 614}, m)
}

// Without the probe, and after Stop, no levels are told.
func TestNoLevelsWithoutTheProbe(t *testing.T) {
	b := newBench(t, "")
	b.configure(settings())
	for range 3 * protocol.LevelsEvery {
		b.telemetry()
	}
	b.probing()
	for range protocol.LevelsEvery {
		b.telemetry()
	}
	b.send(&protocol.Stop{})
	b.run(20 * millisecond)
	quiet := 0
	for b.fetch() == nil {
		quiet++
	}
	require.LessOrEqual(t, quiet, 3)
	b.queue = nil
	b.run(50 * millisecond)
	require.Error(t, b.fetch())
}
