package firmwaretest

import (
	"path/filepath"
	"testing"
)

// The committed hex is what the sources build, byte for byte.
func TestHexIsWhatTheSourcesBuild(t *testing.T) {
	readSources(t)
	makeFirmware(t, "check", "BUILD="+filepath.Join(t.TempDir(), "build"))
}

// The firmware's framing, compiled for the host, against the published
// vectors.
func TestFramingOnTheHost(t *testing.T) {
	readSources(t)
	makeFirmware(t, "hosttest", "BUILD="+filepath.Join(t.TempDir(), "build"))
}
