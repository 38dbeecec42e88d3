package board

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	field "govrig/sim/pickup"
	"govrig/sim/pickup/turned"
	"govrig/sim/standin/governor"
)

// captured answers n frames and gives the pulses they bring and the flags of
// the last.
func (h *host) captured(n int) (pulses []protocol.Pulse, flags uint8) {
	for range n {
		m := h.frames(1)
		pulses = append(pulses, m.Pulses[:m.PulsesLen]...)
		flags = m.Flags
	}
	return pulses, flags
}

// through gives what a board with the jumper times of its own lines.
func through(t *testing.T, j Jumper, options uint8) (pulses []protocol.Pulse, flags uint8, h *host) {
	h = newHost(t, Options{Jumpers: []Jumper{j}})
	m := config()
	m.Options = options
	h.configure(m)
	h.answer = steady(100_000, 160_000)
	pulses, flags = h.captured(60)
	return pulses, flags, h
}

// What goes out of a line comes back through a jumper at the very tick.
func TestJumperIsTimedToTheTick(t *testing.T) {
	for _, c := range []struct {
		name     string
		jumper   Jumper
		options  uint8
		leading  bool // level of the line in the captured pulse
		interval uint32
	}{
		{"pickup to probe", Jumper{From: governor.Pickup, To: Probe}, protocol.OptionCaptureProbe, true, 160_000},
		{"pickup to throttle", Jumper{From: governor.Pickup, To: Throttle}, 0, true, 160_000},
		{"stick to throttle", Jumper{From: governor.Stick, To: Throttle}, 0, true, 352_000},
		{"low pulses", Jumper{From: governor.Pickup, To: Probe}, protocol.OptionPickupLow | protocol.OptionCaptureProbe | protocol.OptionCaptureLow, false, 160_000},
		{"inverted", Jumper{From: governor.Pickup, To: Probe, Inverted: true}, protocol.OptionCaptureProbe | protocol.OptionCaptureLow, true, 160_000},
	} {
		t.Run(c.name, func(t *testing.T) {
			pulses, _, h := through(t, c.jumper, c.options)
			require.Greater(t, len(pulses), 4)
			var want []protocol.Pulse
			edges := h.edges[c.jumper.From]
			for i, e := range edges {
				if e.high == c.leading && i+1 < len(edges) {
					want = append(want, protocol.Pulse{StartTicks: low24(e.tick), WidthTicks: low24(edges[i+1].tick - e.tick)})
				}
			}
			require.Equal(t, want[len(want)-len(pulses):], pulses)
			require.Equal(t, c.interval, pulses[3].StartTicks-pulses[2].StartTicks)
		})
	}
}

func TestJumperToTheOtherInputIsNotHeard(t *testing.T) {
	pulses, _, _ := through(t, Jumper{From: governor.Pickup, To: Throttle}, protocol.OptionCaptureProbe)
	require.Empty(t, pulses)
	pulses, _, _ = through(t, Jumper{From: governor.Pickup, To: Probe}, 0)
	require.Empty(t, pulses)
}

// TelemetryCaptureHigh is the level of the input that is timed.
func TestCaptureHigh(t *testing.T) {
	for _, low := range []bool{false, true} {
		h := newHost(t, Options{Turned: &turned.Sensor{Low: low}})
		m := config()
		m.Options = protocol.OptionCaptureProbe
		h.configure(m)
		_, flags := h.captured(3)
		require.Equal(t, low, flags&protocol.TelemetryCaptureHigh != 0)
		m.Options = 0
		h.configure(m)
		_, flags = h.captured(3)
		require.Zero(t, flags&protocol.TelemetryCaptureHigh, "the throttle line is low")
	}
}

// A turned sensor's edges are timed; a pulse longer than can be told is lost.
func TestTurnedSensor(t *testing.T) {
	for _, low := range []bool{false, true} {
		h := newHost(t, Options{Turned: &turned.Sensor{
			Pulses: []field.Pulse{{Operate: 1, Release: 1.5}}, Period: 2 * math.Pi, Low: low,
			Speeds: []turned.Stretch{{Time: 0, Speed: 100}},
		}})
		m := config()
		m.Options = protocol.OptionCaptureProbe
		if low {
			m.Options |= protocol.OptionCaptureLow
		}
		h.configure(m)
		pulses, _ := h.captured(200)
		require.Len(t, pulses, 7)
		begun := h.b.inputs.turned
		for k, p := range pulses {
			require.InDelta(t, (1+2*math.Pi*float64(k))/100*TickHz, float64(int64(p.StartTicks)-begun), 1)
			require.InDelta(t, 0.005*TickHz, float64(p.WidthTicks), 1)
		}
		// 0.1 V and 2.2 V of 5 V, by the data sheet's converter: V × 1024 / 5 V.
		require.Contains(t, h.levels, protocol.Levels{Lowest: 20, Highest: 450})
	}
	slow := newHost(t, Options{Turned: &turned.Sensor{
		Pulses: []field.Pulse{{Operate: 1, Release: 3.2}}, Period: 2 * math.Pi,
		Speeds: []turned.Stretch{{Time: 0, Speed: 2}},
	}})
	m := config()
	m.Options = protocol.OptionCaptureProbe
	slow.configure(m)
	slow.answer = func(*protocol.Telemetry, *protocol.Drive) bool { return true }
	last := slow.frames(900)
	require.Zero(t, last.PulsesLen)
	require.EqualValues(t, 1, last.LostCaptures)
}
