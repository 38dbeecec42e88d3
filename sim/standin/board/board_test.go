package board

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/sim/standin/governor"
)

// host drives a board by hand and keeps the edges of its lines.
type host struct {
	levels []protocol.Levels
	t      *testing.T
	b      *Board
	r      *frame.Reader
	w      *frame.Writer
	edges  map[governor.Line][]edge
	answer func(t *protocol.Telemetry, d *protocol.Drive) bool // false is silence
}

type edge struct {
	tick int64
	high bool
}

func newHost(t *testing.T, o Options) *host {
	h := &host{t: t, edges: map[governor.Line][]edge{}}
	o.Watch = func(line governor.Line, tick int64, high bool) {
		h.edges[line] = append(h.edges[line], edge{tick, high})
	}
	h.b = New(o)
	h.b.now += bootTicks
	h.r, h.w = frame.NewReader(h.b), frame.NewWriter(h.b)
	return h
}

func config() protocol.Configure {
	return protocol.Configure{
		Sequence: 9, TelemetryTicks: 32_000, FailsafeTicks: 1_600_000, PickupWidthTicks: 8_000,
		ServoPeriodTicks: 352_000, SafeStickTicks: 17_600,
	}
}

func (h *host) send(m interface{ AppendTo([]byte) []byte }) {
	require.NoError(h.t, h.w.Write(m.AppendTo(nil)))
}

func (h *host) configure(m protocol.Configure) (answer protocol.Configured) {
	h.send(&m)
	message, err := h.r.Read()
	require.NoError(h.t, err)
	require.NoError(h.t, answer.Parse(message))
	return answer
}

// frames answers telemetry n times and gives the last frame.
func (h *host) frames(n int) (t protocol.Telemetry) {
	for range n {
		message, err := h.r.Read()
		require.NoError(h.t, err)
		if message[0] == protocol.LevelsID {
			var m protocol.Levels
			require.NoError(h.t, m.Parse(message))
			h.levels = append(h.levels, m)
			message, err = h.r.Read()
			require.NoError(h.t, err)
		}
		require.NoError(h.t, t.Parse(message))
		d := protocol.Drive{Sequence: t.Sequence}
		if h.answer != nil && h.answer(&t, &d) {
			h.send(&d)
		}
	}
	return t
}

// steady plays pulses of a constant period from tick first on.
func steady(first, period int64) func(*protocol.Telemetry, *protocol.Drive) bool {
	return func(t *protocol.Telemetry, d *protocol.Drive) bool {
		now := int64(t.Ticks)
		edge := first
		if edge < now {
			edge += (now - edge + period - 1) / period * period
		}
		d.Flags, d.EdgeTicks, d.PeriodTicks = protocol.DrivePlay, uint32(edge), uint32(period)
		d.StickTicks, d.SelectTicks = 24_001, 22_003
		return true
	}
}

func TestIdentityAndVersion(t *testing.T) {
	h := newHost(t, Options{})
	h.send(&protocol.Identify{Protocol: protocol.Version})
	message, err := h.r.Read()
	require.NoError(t, err)
	require.NoError(t, protocol.CheckVersion(message))
	var id protocol.Identity
	require.NoError(t, id.Parse(message))
	require.EqualValues(t, protocol.BoardVirtual, id.Board)
	require.EqualValues(t, TickHz, id.TickHz)
	_, err = h.r.Read()
	require.ErrorIs(t, err, os.ErrDeadlineExceeded, "no telemetry before Configure")
}

func TestConfigureIsRefusedAsAWhole(t *testing.T) {
	for reason, spoil := range map[uint8]func(*protocol.Configure){
		protocol.RefusedTelemetry: func(m *protocol.Configure) { m.TelemetryTicks = 15_999 },
		protocol.RefusedFailsafe:  func(m *protocol.Configure) { m.FailsafeTicks = 1 << 24 },
		protocol.RefusedWidth:     func(m *protocol.Configure) { m.PickupWidthTicks = 1_599 },
		protocol.RefusedServo:     func(m *protocol.Configure) { m.SafeStickTicks = 40_001 },
	} {
		h := newHost(t, Options{})
		m := config()
		spoil(&m)
		require.Equal(t, protocol.Configured{Sequence: 9, Refused: reason}, h.configure(m))
		_, err := h.r.Read()
		require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	}
}

func TestPulsesFallOnTheirTicks(t *testing.T) {
	h := newHost(t, Options{})
	require.Zero(t, h.configure(config()).Refused)
	h.answer = steady(500_000, 66_667)
	last := h.frames(500)
	pulses := h.edges[governor.Pickup]
	require.Greater(t, len(pulses), 400)
	for i, e := range pulses {
		want := 500_000 + int64(i/2)*66_667
		if i%2 == 1 {
			want += 8_000
		}
		require.Equal(t, edge{want, i%2 == 0}, e)
	}
	require.Zero(t, last.BadFrames+last.LateEdges)
	require.EqualValues(t, protocol.TelemetryPlaying|protocol.TelemetryDriven, last.Flags)
}

func TestServoLines(t *testing.T) {
	h := newHost(t, Options{})
	h.configure(config())
	h.answer = steady(500_000, 66_667)
	h.frames(500)
	for line, width := range map[governor.Line]int64{governor.Stick: 24_001, governor.Select: 22_000} { // select in half microseconds
		edges := h.edges[line]
		require.Greater(t, len(edges), 60)
		for i := 2; i+1 < len(edges); i += 2 {
			require.Equal(t, width, edges[i+1].tick-edges[i].tick)
			require.EqualValues(t, 352_000, edges[i].tick-edges[i-2].tick)
		}
	}
}

func TestSilentHostEndsInTheSafeState(t *testing.T) {
	h := newHost(t, Options{})
	h.configure(config())
	h.answer = steady(100_000, 66_667)
	lastDriven := h.frames(100)
	pulses := h.edges[governor.Pickup]
	h.answer = nil
	last := h.frames(200)
	require.EqualValues(t, protocol.TelemetrySafe|protocol.TelemetryFailsafe|protocol.TelemetryDriven, last.Flags)
	silentFrom := int64(lastDriven.Ticks) + 1_600_000 + 32_000 // failsafe after the last drive was applied
	all := h.edges[governor.Pickup]
	require.Greater(t, len(all), len(pulses), "the board plays on while it waits")
	require.Less(t, all[len(all)-1].tick, silentFrom)
	require.False(t, all[len(all)-1].high, "the last pulse ends")
	stick := h.edges[governor.Stick]
	require.EqualValues(t, 17_600, stick[len(stick)-1].tick-stick[len(stick)-2].tick)

	h.answer = steady(100_000, 66_667)
	h.frames(100)
	require.Len(t, h.edges[governor.Pickup], len(all), "only Configure ends a failsafe")
	h.configure(config())
	h.frames(100)
	require.Greater(t, len(h.edges[governor.Pickup]), len(all))
}

func TestStop(t *testing.T) {
	h := newHost(t, Options{})
	h.configure(config())
	h.answer = steady(100_000, 66_667)
	h.frames(100)
	h.answer = nil
	h.send(&protocol.Stop{})
	last := h.frames(1)
	for last.Flags&protocol.TelemetrySafe == 0 {
		last = h.frames(1)
	}
	n := len(h.edges[governor.Pickup])
	_, err := h.r.Read()
	require.ErrorIs(t, err, os.ErrDeadlineExceeded, "quiet after Stop")
	require.LessOrEqual(t, len(h.edges[governor.Pickup])-n, 1, "at most the end of the last pulse")
}

func TestDropAndStray(t *testing.T) {
	h := newHost(t, Options{})
	h.configure(config())
	play := steady(100_000, 66_667)
	fault := protocol.Fault{}
	h.answer = func(t *protocol.Telemetry, d *protocol.Drive) bool {
		if fault.Kind != 0 {
			d.Faults[0], d.FaultsLen = fault, 1
			fault = protocol.Fault{}
		}
		return play(t, d)
	}
	h.frames(100)
	fault = protocol.Fault{Kind: protocol.FaultDrop, Value: 3}
	h.frames(100)
	fault = protocol.Fault{Kind: protocol.FaultStray, Value: 2_000}
	h.frames(100)
	fault = protocol.Fault{Kind: protocol.FaultStray, Value: 100} // would touch the regular pulse
	h.frames(100)

	var gaps []int64
	var rises []int64
	for _, e := range h.edges[governor.Pickup] {
		if e.high {
			rises = append(rises, e.tick)
		}
	}
	for i := 1; i < len(rises); i++ {
		if gap := rises[i] - rises[i-1]; gap != 66_667 {
			gaps = append(gaps, gap)
		}
	}
	require.Equal(t, []int64{4 * 66_667, 32_000, 66_667 - 32_000}, gaps)
}

func TestPickupPolarity(t *testing.T) {
	h := newHost(t, Options{})
	m := config()
	m.Options = protocol.OptionPickupLow
	h.configure(m)
	h.answer = steady(100_000, 66_667)
	h.frames(50)
	require.False(t, h.edges[governor.Pickup][0].high)
	require.EqualValues(t, 8_000, h.edges[governor.Pickup][1].tick-h.edges[governor.Pickup][0].tick)
}

// The throttle pulses that telemetry tells of are the governor's own.
func TestThrottlePulsesAreTimed(t *testing.T) {
	p := governor.Params{
		TickRate: TickHz, PulsesPerTurn: 1, ThrottleClosed: 1.1e-3, ThrottleOpen: 1.9e-3, FrameRate: 333,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 1200, SpeedHigh: 1900,
		ArmOn: 0.6, ArmOff: 0.5, SpoolRate: 200, Gain: 0.002, LossTime: 0.3,
	}
	g, err := governor.New(p, 0)
	require.NoError(t, err)
	h := newHost(t, Options{Governor: g})
	h.configure(config())
	var pulses []protocol.Pulse
	h.answer = func(t *protocol.Telemetry, d *protocol.Drive) bool {
		pulses = append(pulses, t.Pulses[:t.PulsesLen]...)
		d.StickTicks = 20_000
		return true
	}
	last := h.frames(1000)
	require.Greater(t, len(pulses), 650)
	for i := 30; i < len(pulses); i++ {
		require.EqualValues(t, 20_000, pulses[i].WidthTicks)
		require.InDelta(t, 16e6/333, float64((pulses[i].StartTicks-pulses[i-1].StartTicks)&0xFFFFFF), 1)
	}
	require.Zero(t, last.LostCaptures)
}

func TestGarbageIsCountedAndHarmless(t *testing.T) {
	h := newHost(t, Options{})
	h.configure(config())
	_, err := h.b.Write([]byte{1, 2, 3, 0, 0xFF, 0, 5, 5, 0})
	require.NoError(t, err)
	require.NoError(t, h.w.Write([]byte{0x77, 1}))
	last := h.frames(20)
	require.EqualValues(t, 4, last.BadFrames)
	require.Empty(t, h.edges[governor.Pickup])
}

// What is sent before the board has started is lost, as on a real one; half a
// message then is a bad frame at the most.
func TestNotHeardWhileStarting(t *testing.T) {
	b := New(Options{})
	require.NoError(t, frame.NewWriter(b).Write((&protocol.Identify{Protocol: protocol.Version}).AppendTo(nil)))
	_, err := b.Read(make([]byte, 100))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	require.NoError(t, frame.NewWriter(b).Write((&protocol.Identify{Protocol: protocol.Version}).AppendTo(nil)))
	_, err = b.Read(make([]byte, 100))
	require.NoError(t, err)
}

func TestClosed(t *testing.T) {
	b := New(Options{})
	require.NoError(t, b.Close())
	_, err := b.Read(make([]byte, 1))
	require.ErrorIs(t, err, os.ErrClosed)
	_, err = b.Write([]byte{0})
	require.ErrorIs(t, err, os.ErrClosed)
}
