package emulator

import (
	"sort"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// captureBench starts the capture firmware in a mode and gives the tick at
// which its count was zero.
func captureBench(t testing.TB, firmware string, mode byte) (*bench, int64) {
	b := newBench(t, firmware, Options{})
	b.run(10_000)
	_, err := b.Write([]byte{mode})
	require.NoError(t, err)
	return b, b.mark(markPin) + 2
}

// captured is a pulse as the firmware timed it.
type captured struct{ start, width int64 }

func (b *bench) captured() captured {
	b.t.Helper()
	r := b.reportMap()
	return captured{r["start"], r["width"]}
}

// Cycles from an edge on ICP1 to its capture: the synchroniser and edge
// detector take 2.5 to 3.5 (data sheet, External Clock Source, of the T1 pin
// that ICP1 is sampled like), and the noise canceller "four system clock
// cycles" more.
const (
	synchroniser   = 3
	noiseCanceller = 4
)

// Any pulse is timed to the cycle, wherever the count stands.
func TestCaptureExact(t *testing.T) {
	b, zero := captureBench(t, "capture", 'x')
	rapid.Check(t, func(rt *rapid.T) {
		rise := b.Now() + rapid.Int64Range(500, 200_000).Draw(rt, "wait")
		width := rapid.Int64Range(150, 100_000).Draw(rt, "width")
		require.NoError(rt, b.Drive(ThrottlePin, rise, true))
		require.NoError(rt, b.Drive(ThrottlePin, rise+width, false))
		require.Equal(rt, captured{rise + synchroniser - zero, width}, b.captured())
	})
}

// Around an overflow the captured low word and the counted high word come from
// different moments; the usual cure looks at TOV1. The emulation must offer
// the race: without the cure pulses are lost.
func TestCaptureOverflowRace(t *testing.T) {
	errors := func(firmware string) int {
		b, zero := captureBench(t, firmware, 'x')
		wrong := 0
		for i := int64(0); i < 60; i++ {
			rise := zero + (i+1)*65536 - synchroniser + i - 30
			require.NoError(t, b.Drive(ThrottlePin, rise, true))
			require.NoError(t, b.Drive(ThrottlePin, rise+20_000, false))
			if b.captured() != (captured{rise + synchroniser - zero, 20_000}) {
				wrong++
			}
		}
		return wrong
	}
	require.Zero(t, errors("capture"))
	require.Positive(t, errors("capture_uncured"))
}

// "When the noise canceler is enabled ... the input is filtered. ... four
// successive equal valued samples" are required.
func TestNoiseCanceller(t *testing.T) {
	b, zero := captureBench(t, "capture", 'n')
	rise := b.Now() + 10_000
	for _, e := range []struct {
		tick int64
		high bool
	}{
		{rise - 1000, true}, {rise - 997, false}, // three cycles: nothing
		{rise, true},
		{rise + 5000, false}, {rise + 5003, true}, // nothing
		{rise + 20_000, false},
	} {
		require.NoError(t, b.Drive(ThrottlePin, e.tick, e.high))
	}
	require.Equal(t, captured{rise + synchroniser + noiseCanceller - zero, 20_000}, b.captured())

	// Four cycles get through. The firmware is too late for the end of so short
	// a pulse and takes that of the next one.
	rise = b.Now() + 10_000
	require.NoError(t, b.Drive(ThrottlePin, rise, true))
	require.NoError(t, b.Drive(ThrottlePin, rise+4, false))
	require.NoError(t, b.Drive(ThrottlePin, rise+2000, true))
	require.NoError(t, b.Drive(ThrottlePin, rise+3000, false))
	require.Equal(t, captured{rise + synchroniser + noiseCanceller - zero, 3000}, b.captured())
}

// The pickup probe: AIN1 below the bandgap's 1.1 V raises the comparator's
// output, which takes ICP1's place.
func TestComparatorCapture(t *testing.T) {
	b, zero := captureBench(t, "capture", 'c')
	require.NoError(t, b.Millivolts(ProbeChannel, b.Now(), 4000))
	require.NoError(t, b.Drive(ThrottlePin, b.Now()+1000, true), "the pin is not listened to")
	b.run(b.Now() + 5000)
	for i := int64(0); i < 20; i++ {
		fall := b.Now() + 5000 + i*7919
		require.NoError(t, b.Millivolts(ProbeChannel, fall, 300))
		require.NoError(t, b.Millivolts(ProbeChannel, fall+2000+i, 1200))
		require.Equal(t, captured{fall + synchroniser - zero, 2000 + i}, b.captured())
	}
}

func TestInputsMayComeInAnyOrder(t *testing.T) {
	b, zero := captureBench(t, "capture", 'x')
	base := b.Now() + 1000
	rises := []int64{base + 90_000, base, base + 30_000, base + 60_000}
	for _, rise := range rises {
		require.NoError(t, b.Drive(ThrottlePin, rise+10_000, false))
		require.NoError(t, b.Drive(ThrottlePin, rise, true))
	}
	sort.Slice(rises, func(i, j int) bool { return rises[i] < rises[j] })
	for _, rise := range rises {
		require.Equal(t, captured{rise + synchroniser - zero, 10_000}, b.captured())
	}
}

func TestInputInThePastIsRefused(t *testing.T) {
	b, _ := captureBench(t, "capture", 'x')
	require.NoError(t, b.Drive(ThrottlePin, b.Now(), true), "now is not past")
	b.run(b.Now() + 100)
	require.NoError(t, b.Drive(ThrottlePin, b.Now()-1, true), "told with the next run")
	var told *HarnessError
	require.ErrorAs(t, b.RunUntil(b.Now()+100), &told)
	require.Contains(t, told.Text, "before the present cycle")
}
