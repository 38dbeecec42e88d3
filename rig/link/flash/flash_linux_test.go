package flash

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	firmware "govrig/firmware-notes"
)

// script makes a program that stands where an Arduino IDE would keep avrdude.
func script(t *testing.T, path, text string) {
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	require.NoError(t, os.WriteFile(path, []byte("#!/bin/sh\n"+text), 0o755))
}

func TestFindInTheIDEsFolders(t *testing.T) {
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("PATH", home)
	_, err := Find()
	if _, system := os.Stat("/usr/share/arduino/hardware/tools/avr/bin/avrdude"); system != nil {
		var missing *MissingError
		require.ErrorAs(t, err, &missing)
	}
	tools := filepath.Join(home, ".arduino15/packages/arduino/tools/avrdude")
	script(t, filepath.Join(tools, "6.3.0-arduino17/bin/avrdude"), "")
	script(t, filepath.Join(tools, "8.0.0-arduino1/bin/avrdude"), "")
	require.NoError(t, os.MkdirAll(filepath.Join(tools, "8.0.0-arduino1/etc"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(tools, "8.0.0-arduino1/etc/avrdude.conf"), nil, 0o644))
	p, err := Find()
	require.NoError(t, err)
	require.Equal(t, filepath.Join(tools, "8.0.0-arduino1/bin/avrdude"), p.Path)
	require.Equal(t, filepath.Join(tools, "8.0.0-arduino1/etc/avrdude.conf"), p.Config)
}

// A named program is found wherever the writing runs; one that is not there is
// said at once.
func TestNamedProgrammer(t *testing.T) {
	t.Chdir(t.TempDir())
	script(t, "tools/avrdude", "exit 0")
	p, err := At("tools/avrdude")
	require.NoError(t, err)
	require.NoError(t, p.Write(context.Background(), "/dev/null", 115_200, sound(t)))
	_, err = At("tools/avrdude8")
	require.ErrorContains(t, err, `there is no program "tools/avrdude8"`)
}

func sound(t *testing.T) *Image {
	image, err := NewImage(firmware.Hex)
	require.NoError(t, err)
	return image
}

// A program that does not come to its end is ended, and so is what it has
// started; a board that is unplugged meanwhile is said as that, one that is there
// is not.
func TestWriteThatDoesNotEnd(t *testing.T) {
	dir := t.TempDir()
	script(t, dir+"/hangs", "echo trying; sleep 1000 & sleep 1000")
	script(t, dir+"/unplugged", `rm "$6"; echo ioctl failed; exit 1`)
	port := dir + "/port"
	require.NoError(t, os.WriteFile(port, nil, 0o644))

	p, err := At(dir + "/hangs")
	require.NoError(t, err)
	err = p.within(context.Background(), 50*time.Millisecond, port, 115_200, sound(t))
	require.ErrorIs(t, err, context.DeadlineExceeded)
	require.ErrorContains(t, err, "did not come to its end")
	require.NotContains(t, err.Error(), "unplugged while")

	ctx, stop := context.WithCancel(context.Background())
	time.AfterFunc(50*time.Millisecond, stop)
	require.ErrorIs(t, p.Write(ctx, port, 115_200, sound(t)), context.Canceled)

	p, err = At(dir + "/unplugged")
	require.NoError(t, err)
	require.ErrorContains(t, p.Write(context.Background(), port, 115_200, sound(t)), "the board was unplugged while it was written")
}
