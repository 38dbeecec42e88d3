package protocol

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// message is what every message can do.
type message interface {
	AppendTo([]byte) []byte
	Parse([]byte) error
}

func all() map[byte]func() message {
	return map[byte]func() message{
		IdentifyID:   func() message { return new(Identify) },
		ConfigureID:  func() message { return new(Configure) },
		DriveID:      func() message { return new(Drive) },
		StopID:       func() message { return new(Stop) },
		IdentityID:   func() message { return new(Identity) },
		ConfiguredID: func() message { return new(Configured) },
		TelemetryID:  func() message { return new(Telemetry) },
		LevelsID:     func() message { return new(Levels) },
		EdgesID:      func() message { return new(Edges) },
	}
}

// The bytes of one message, written out by hand from the table of messages:
// little endian, moments of three bytes, the list at the end.
func TestDriveBytes(t *testing.T) {
	d := Drive{
		Sequence: 0x11, Flags: DrivePlay, EdgeTicks: 0x44332211, PeriodTicks: 0x776655, PeriodFraction: 0x88,
		ChangeFraction: 0xBBAA99, StickTicks: 0xDDCC, SelectTicks: 0xFFEE, FaultsLen: 1, Faults: [MaxFaults]Fault{{FaultDrop, 0x0302}},
	}
	want := []byte{0x03, 0x11, 0x01, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88, 0x99, 0xAA, 0xBB, 0xCC, 0xDD, 0xEE, 0xFF, 0x01, 0x02, 0x03}
	require.Equal(t, want, d.AppendTo(nil))
	var back Drive
	require.NoError(t, back.Parse(want))
	require.Equal(t, d, back)
}

// Every field keeps its smallest and its largest value; a field of three bytes
// keeps the low 24 bits.
func TestFieldEnds(t *testing.T) {
	for _, value := range []uint32{0, 1, 0xFFFFFF} {
		in := Telemetry{PickupTicks: value, AppliedTicks: value, Ticks: ^uint32(0), PulsesLen: MaxPulses}
		in.Pulses[MaxPulses-1] = Pulse{StartTicks: value, WidthTicks: value}
		var out Telemetry
		require.NoError(t, out.Parse(in.AppendTo(nil)))
		require.Equal(t, in, out)
	}
	in := Telemetry{PickupTicks: 0x12345678}
	var out Telemetry
	require.NoError(t, out.Parse(in.AppendTo(nil)))
	require.Equal(t, uint32(0x345678), out.PickupTicks)
}

func TestWrongLengthsAndIDs(t *testing.T) {
	for id, make := range all() {
		good := make().AppendTo(nil)
		require.Equal(t, id, good[0])
		require.LessOrEqual(t, len(good), MaxPayload)
		var length *LengthError
		require.ErrorAs(t, make().Parse(good[:len(good)-1]), &length)
		require.ErrorAs(t, make().Parse(append(good, 0)), &length)
		var wrong *IDError
		good[0] ^= 0x40
		require.ErrorAs(t, make().Parse(good), &wrong)
	}
	long := Telemetry{PulsesLen: MaxPulses}
	var length *LengthError
	require.ErrorAs(t, new(Telemetry).Parse(append(long.AppendTo(nil), make([]byte, 6)...)), &length)
}

// An error leaves the message as it was.
func TestParseErrorChangesNothing(t *testing.T) {
	d := Drive{Sequence: 7}
	require.Error(t, d.Parse([]byte{DriveID, 1, 2}))
	require.Equal(t, Drive{Sequence: 7}, d)
}

func TestVersionError(t *testing.T) {
	require.NoError(t, CheckVersion([]byte{IdentityID, Version}))
	err := CheckVersion([]byte{IdentityID, 9, 1, 2, 3})
	var version *VersionError
	require.ErrorAs(t, err, &version)
	require.ErrorContains(t, err, "version 9")
	require.ErrorContains(t, err, fmt.Sprintf("version %d", Version))
	require.ErrorContains(t, err, "write the firmware")
	require.Error(t, CheckVersion(nil))
	require.Error(t, CheckVersion([]byte{TelemetryID, Version}))
}

func TestLongestTelemetryAndDrive(t *testing.T) {
	// The timing budget of the wire counts on these sizes.
	require.Len(t, (&Telemetry{PulsesLen: 1}).AppendTo(nil), 25)
	require.Len(t, (&Drive{}).AppendTo(nil), 18)
}

func TestNoAllocations(t *testing.T) {
	var telemetry Telemetry
	buf := (&Telemetry{PulsesLen: MaxPulses}).AppendTo(make([]byte, 0, MaxPayload))
	require.Zero(t, testing.AllocsPerRun(100, func() {
		_ = telemetry.Parse(buf)
		buf = telemetry.AppendTo(buf[:0])
	}))
}

func TestAnyTelemetryComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, MaxPulses).Draw(t, "pulses")
		b := append([]byte{TelemetryID}, rapid.SliceOfN(rapid.Byte(), 18+6*n, 18+6*n).Draw(t, "bytes")...)
		var m Telemetry
		require.NoError(t, m.Parse(b))
		require.Equal(t, b, m.AppendTo(nil))
	})
}

// Whatever parses packs to the same bytes.
func FuzzParse(f *testing.F) {
	for _, make := range all() {
		f.Add(make().AppendTo(nil))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) == 0 {
			return
		}
		make, known := all()[b[0]]
		if !known {
			return
		}
		m := make()
		if m.Parse(b) == nil {
			require.Equal(t, b, m.AppendTo(nil))
		}
	})
}
