package main

import (
	"bufio"
	"bytes"
	"context"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
)

// bootLoaders are those of Debian's arduino-core-avr.
const bootLoaders = "/usr/share/arduino/hardware/arduino/avr/bootloaders/"

// bootBoard starts an emulated board that holds a boot loader and nothing
// else, and gives the path of its port.
func bootBoard(t *testing.T, bootLoader string) string {
	t.Helper()
	program := filepath.Join(t.TempDir(), "bootboard")
	out, err := exec.Command("cc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror", "-isystem", "/usr/include/simavr",
		"-o", program, root+"/rig/link/flash/testdata/bootboard.c", "-lsimavr").CombinedOutput()
	require.NoError(t, err, "%s", out)
	cmd := exec.Command(program, bootLoaders+bootLoader)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	said, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { in.Close(); require.NoError(t, cmd.Wait(), &complaints) })
	path, err := bufio.NewReader(said).ReadString('\n')
	require.NoError(t, err)
	return strings.TrimSpace(path)
}

// talker is a port on which something says its piece whatever it is told; it
// gives what it was told.
func talker(t *testing.T, piece string) (path string, told func() string) {
	far, near, err := pty.Open()
	require.NoError(t, err)
	heard := make(chan string, 1)
	go func() {
		var all strings.Builder
		buf := make([]byte, 1024)
		for {
			n, err := far.Read(buf)
			all.Write(buf[:n])
			if err != nil {
				heard <- all.String()
				return
			}
			_, _ = far.WriteString(piece)
		}
	}()
	return near.Name(), func() string { near.Close(); far.Close(); return <-heard }
}

// flashed is what came of one govrig flash.
type flashed struct {
	err        error
	out, words bytes.Buffer
}

func (f *flashed) on(port string) {
	f.err = flashBoard(context.Background(), streams{out: &f.out, err: &f.words}, flashOptions{port: port})
}

// The whole way, through real boot loaders and the real avrdude. All
// boards are served side by side, as each takes its seconds.
func TestFlash(t *testing.T) {
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	fresh := bootBoard(t, "optiboot/optiboot_atmega328.hex")
	clone := bootBoard(t, "atmega/ATmegaBOOT_168_atmega328.hex")
	other, toldOther := talker(t, "temperature 21.5\r\n")
	mute, toldMute := talker(t, "")
	var onFresh, again, onClone, onOther, onMute flashed
	var all sync.WaitGroup
	all.Go(func() { onFresh.on(fresh); again.on(fresh) })
	all.Go(func() { onClone.on(clone) })
	all.Go(func() { onOther.on(other) })
	all.Go(func() { onMute.on(mute) })
	all.Wait()

	for _, f := range []*flashed{&onFresh, &again, &onClone} {
		require.NoError(t, f.err, &f.words)
		require.Contains(t, f.out.String(), "firmware "+carried+" written and read back; the board answers as a rig board")
	}
	require.Contains(t, onFresh.words.String(), "boot loader answers at 115200 baud")
	require.Contains(t, onClone.words.String(), "boot loader answers at 57600 baud", "the old boot loader of clone boards")

	// What is on a board that talks otherwise would be lost: it is left alone.
	var exit *exitError
	require.ErrorAs(t, onOther.err, &exit)
	require.Equal(t, exitUsage, exit.code)
	require.ErrorContains(t, onOther.err, "--force")
	require.Empty(t, onOther.out.String())
	require.NotContains(t, toldOther(), "0 ", "nobody asked for its boot loader")

	require.ErrorAs(t, onMute.err, &exit)
	require.Equal(t, exitNoBoard, exit.code)
	require.ErrorContains(t, onMute.err, "no boot loader answers on "+mute)
	require.Contains(t, toldMute(), "0 ")

	code, out, _ := command("", "ports", fresh)
	require.Equal(t, exitPass, code)
	require.Contains(t, out, "rig board, firmware "+carried+", wire version 3, 500000 baud, EMULATED")
}

func TestFlashWithoutAvrdude(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	t.Setenv("HOME", t.TempDir())
	code, _, complaints := command("", "flash", "--port", "/dev/no-such-port")
	require.Equal(t, exitUsage, code)
	require.Contains(t, complaints, "sudo apt install avrdude")
}

func TestFlashStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	var complaints strings.Builder
	code := run(ctx, []string{"flash", "--port", "/dev/no-such-port"}, streams{in: strings.NewReader(""), out: &complaints, err: &complaints})
	require.Equal(t, exitStopped, code, complaints.String())
}
