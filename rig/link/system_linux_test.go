package link

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestGroupAdvice(t *testing.T) {
	require.Contains(t, groupAdvice("dialout", false), "sudo usermod -aG dialout")
	require.Contains(t, groupAdvice("uucp", false), "sudo usermod -aG uucp")
	require.Contains(t, groupAdvice("dialout", true), "log out and in again")
	require.Contains(t, groupAdvice("root", false), "udev")
}

// The device file's own group is named.
func TestPermissionAdviceNamesTheGroupOfTheFile(t *testing.T) {
	file := filepath.Join(t.TempDir(), "port")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.NoError(t, os.Chown(file, -1, os.Getgid()))
	require.Contains(t, permissionAdvice(file), "log out and in again", "the person is in that group already")
}

// A program that was started while a port was open does not hold it.
func TestChildrenDoNotInheritThePort(t *testing.T) {
	_, port := pair(t)
	path, err := os.Readlink("/proc/self/fd/" + strconv.Itoa(port.straight.fd))
	require.NoError(t, err)
	child := exec.Command("sleep", "60")
	require.NoError(t, child.Start())
	defer func() { _ = child.Process.Kill(); _ = child.Wait() }()
	require.NoError(t, port.Close())
	require.Empty(t, usersOf(path))
	again, err := Open(t.Context(), path, 500_000)
	require.NoError(t, err)
	require.NoError(t, again.Close())
}

// A tree as the kernel shows it below /sys/bus/usb/devices.
func TestDriverless(t *testing.T) {
	root := t.TempDir()
	for path, text := range map[string]string{
		"1-1/idVendor": "1a86\n", "1-1/idProduct": "7523\n", // no driver
		"1-2/idVendor": "1a86\n", "1-2/idProduct": "7523\n", "1-2/1-2:1.0/ttyUSB0/x": "",
		"1-3/idVendor": "2341\n", "1-3/idProduct": "0043\n", "1-3/1-3:1.0/tty/ttyACM0/x": "",
		"1-4/idVendor": "0403\n", "1-4/idProduct": "6001\n", // no driver
		"1-5/idVendor": "046d\n", "1-5/idProduct": "c31c\n", // a keyboard
	} {
		file := filepath.Join(root, path)
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	}
	found := driverless(root)
	require.Len(t, found, 2)
	require.Contains(t, found[0], "1A86:7523 (CH340)")
	require.Contains(t, found[0], "brltty")
	require.Contains(t, found[1], "0403:6001 (FTDI)")
	require.NotContains(t, found[1], "brltty")
}
