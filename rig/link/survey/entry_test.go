package survey

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/protocol"
	"govrig/rig/link"
)

// A board with older firmware is one that flash puts right.
func TestOlderFirmware(t *testing.T) {
	a := link.Answer{Device: link.Device{Path: "COM7", USB: true, Vendor: "1A86", Product: "7523"}, Baud: 500_000}
	a.Identity = protocol.Identity{Protocol: protocol.Version, FirmwareMajor: 0, FirmwareMinor: 9}
	e := answered(&a)
	require.Equal(t, Rig, e.Answer)
	require.Equal(t, "CH340", e.Chip)
	require.Contains(t, e.Advice, "govrig flash --port COM7")

	a.Err = &protocol.VersionError{Board: protocol.Version + 1}
	e = answered(&a)
	require.Equal(t, OtherVersion, e.Answer)
	require.EqualValues(t, protocol.Version+1, e.Wire)
	require.Contains(t, e.Advice, "govrig flash --port COM7")
}
