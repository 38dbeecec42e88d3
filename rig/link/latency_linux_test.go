package link

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

// The place and the value of the flag are those of the kernel's own headers, as
// the C compiler sees them: struct serial_struct of linux/serial.h.
func TestLowLatencyFlagIsTheKernels(t *testing.T) {
	dir := t.TempDir()
	source, program := filepath.Join(dir, "flag.c"), filepath.Join(dir, "flag")
	require.NoError(t, os.WriteFile(source, []byte(`
#include <stdio.h>
#include <string.h>
#include <linux/serial.h>
int main(void) {
	struct serial_struct s;
	memset(&s, 0x11, sizeof s);
	s.flags |= ASYNC_LOW_LATENCY;
	return fwrite(&s, sizeof s, 1, stdout) != 1;
}`), 0o644))
	said, err := exec.Command("cc", "-o", program, source).CombinedOutput()
	require.NoError(t, err, string(said))
	want, err := exec.Command(program).Output()
	require.NoError(t, err)

	var settings [128]byte
	require.LessOrEqual(t, len(want), len(settings))
	copy(settings[:], strings.Repeat("\x11", len(want)))
	addLowLatency(&settings)
	require.Equal(t, want, settings[:len(want)])
	require.Empty(t, strings.Trim(string(settings[len(want):]), "\x00"))
}

// A port whose driver knows of no such setting is left as it was, and no
// descriptor stays open; nor where there is no port.
func TestLowLatencyWhereItCannotBeSet(t *testing.T) {
	far, near, err := pty.Open()
	require.NoError(t, err)
	defer far.Close()
	defer near.Close()
	before := descriptors(t)
	for _, path := range []string{near.Name(), "/dev/no-such-port"} {
		setLowLatency(path)()
		require.Equal(t, before, descriptors(t), path)
	}
}

func descriptors(t *testing.T) int {
	open, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	return len(open)
}
