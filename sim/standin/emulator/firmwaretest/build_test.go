package firmwaretest

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
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

// Built as the Arduino IDE builds a sketch (gcc's -Os, link-time optimisation,
// its core) the firmware does the same, if a little slower.
func TestBuildsAsASketch(t *testing.T) {
	readSources(t)
	build := filepath.Join(t.TempDir(), "build")
	makeFirmware(t, "arduino", "BUILD="+build)
	b := benchOf(t, filepath.Join(build, "arduino.hex"))
	tr := startTraffic(b, settings(), 66_741.37, 48_048)
	tr.rounds(2_000 * millisecond)
	tr.requireExact()
	load, mean, longest := tr.figures()
	t.Logf("emulated, not checked on silicon: telemetry to drive applied %.3f ms (mean %.3f), interrupt load %.1f %%",
		1e3*longest, 1e3*mean, 100*load)
	require.LessOrEqual(t, load, 0.25)
}
