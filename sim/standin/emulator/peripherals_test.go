package emulator

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The watchdog: 4096 of its 128 kHz clocks after the last WDR it resets the
// chip, stays on with its shortest time-out, and says so. Memory outlives it.
func TestWatchdog(t *testing.T) {
	const clock = TickHz / 128_000
	const wdrf, porf, wde = 8, 1, 8
	b := newBench(t, "watchdog", Options{})
	require.Equal(t, map[string]int64{"cause": porf, "marker": 0xE5, "wdtcsr": 0, "starts": 1}, b.reportMap())
	fed := b.mark(markPin)
	require.Greater(t, fed, int64(200*3000), "feeding kept it quiet")

	require.Equal(t, map[string]int64{"cause": wdrf, "marker": 0xE5, "wdtcsr": wde, "starts": 2}, b.reportMap())
	falls := b.of(markPin, false)
	require.Len(t, falls, 1, "a reset lets go of the pins")
	// WDR before SBI, which ends two cycles later; the reset waits for the end
	// of an instruction.
	require.InDelta(t, fed-2+4096*clock, falls[0], 2)
	s, err := b.Stats()
	require.NoError(t, err)
	require.Equal(t, 1, s.Resets)
}

func TestResetPin(t *testing.T) {
	const extrf = 2
	b := newBench(t, "watchdog", Options{})
	b.reportMap()
	before := b.Now()
	require.NoError(t, b.Reset())
	r := b.reportMap()
	require.EqualValues(t, extrf, r["cause"])
	require.EqualValues(t, 2, r["starts"])
	require.Greater(t, b.Now(), before+65*TickHz/1000, "start-up time")
}

// The converter: V·1024/Vref; 13 clocks of the converter, 25 the first time
// (data sheet, ADC Conversion Time); the bandgap is 1.1 V. The comparator
// flags the edge that ACIS chooses.
func TestAnalogue(t *testing.T) {
	b := newBench(t, "analogue", Options{})
	require.NoError(t, b.Millivolts(3, 0, 3300))
	require.NoError(t, b.Millivolts(ProbeChannel, 0, 5000))
	require.NoError(t, b.Millivolts(ProbeChannel, 500_000, 1000))
	require.NoError(t, b.Millivolts(ProbeChannel, 600_000, 1200))
	r := b.reportMap()
	require.EqualValues(t, 3300*1024/5000, r["adc_first"])
	require.EqualValues(t, 3300*1024/5000, r["adc"])
	require.EqualValues(t, 1100*1024/5000, r["adc_bandgap"])
	require.InDelta(t, 25.5*128, r["adc_first_ticks"], 64+32, "begun at the converter's next clock")
	require.InDelta(t, 13.5*128, r["adc_ticks"], 64+32)
	require.EqualValues(t, 0, r["aci_after_rise"])
	require.EqualValues(t, 1, r["aci_after_fall"])
}
