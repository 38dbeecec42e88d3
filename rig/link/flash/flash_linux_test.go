package flash

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
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
