package link

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
	"golang.org/x/sys/unix"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig"
	"govrig/sim/standin/emulator"
)

// device gives the port of a far end that hears what comes and says what
// answer makes of it, given the speed that the near end has set.
func device(t *testing.T, answer func(heard []byte, baud int) []byte) Device {
	t.Helper()
	far, near, err := pty.Open()
	require.NoError(t, err)
	done := make(chan struct{})
	go func() {
		defer close(done)
		buf := make([]byte, 1024)
		for {
			n, err := far.Read(buf)
			if err != nil && !errors.Is(err, unix.EIO) { // EIO: nobody has it open
				return
			}
			if n == 0 {
				time.Sleep(time.Millisecond)
				continue
			}
			if _, err := far.Write(answer(buf[:n], speed(far))); err != nil {
				return
			}
		}
	}()
	require.NoError(t, near.Close())
	t.Cleanup(func() { far.Close(); <-done })
	return Device{Path: near.Name(), USB: true}
}

// speed is what the near end of a pseudo-terminal was set to.
func speed(far *os.File) (baud int) {
	raw, err := far.SyscallConn()
	if err == nil {
		_ = raw.Control(func(fd uintptr) {
			if settings, err := unix.IoctlGetTermios(int(fd), unix.TCGETS2); err == nil {
				baud = int(settings.Ospeed)
			}
		})
	}
	return baud
}

var identity = protocol.Identity{
	Protocol: protocol.Version, Board: protocol.BoardMega328, FirmwareMajor: 1, TickHz: 16_000_000,
}

// board answers at one speed as a rig board does.
func board(id protocol.Identity, at int) func([]byte, int) []byte {
	var d frame.Decoder
	return func(heard []byte, baud int) (said []byte) {
		for _, c := range heard {
			if message, ok := d.Next(c); ok && baud == at && message[0] == protocol.IdentifyID {
				said = frame.Append(said, id.AppendTo(nil))
			}
		}
		return said
	}
}

func silent([]byte, int) []byte { return nil }

// bootLoader answers at one speed as a serial boot loader does.
func bootLoader(at int) func([]byte, int) []byte {
	return func(heard []byte, baud int) []byte {
		if baud == at && bytes.Contains(heard, bootQuestion) {
			return bootAnswer
		}
		return nil
	}
}

// All are asked at once: each that does not answer takes some seconds.
func TestAskAll(t *testing.T) {
	t.Parallel()
	newer := identity
	newer.Protocol++
	cases := []struct {
		name string
		far  func([]byte, int) []byte
		baud int
		boot int
		err  error
	}{
		{"rig board", board(identity, 500_000), 500_000, 0, nil},
		{"rig board, half speed", board(identity, 250_000), 250_000, 0, nil},
		{"rig board, newer", board(newer, 500_000), 500_000, 0, &protocol.VersionError{Board: newer.Protocol}},
		{"nothing", silent, 0, 0, rig.ErrNoAnswer},
		{"boot loader", bootLoader(115_200), 0, 115_200, rig.ErrNoAnswer},
		{"old boot loader", bootLoader(57_600), 0, 57_600, rig.ErrNoAnswer},
		{"something else", func([]byte, int) []byte { return []byte("?\r\n") }, 0, 0, rig.ErrForeign},
	}
	var devices []Device
	for _, c := range cases {
		devices = append(devices, device(t, c.far))
	}
	for i, a := range AskAll(context.Background(), devices) {
		c := cases[i]
		require.Equal(t, c.err, a.Err, c.name)
		require.Equal(t, devices[i], a.Device, c.name)
		require.Equal(t, c.baud, a.Baud, c.name)
		require.Equal(t, c.boot, a.Boot, c.name)
		if c.err == nil {
			require.Equal(t, identity, a.Identity, c.name)
		}
	}
}

// serve runs the firmware itself behind a pseudo-terminal.
func serve(t *testing.T) (path string) {
	t.Helper()
	harness, err := emulator.Build("../../firmware-notes/emulator")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(context.Background())
	ended, ready := make(chan error, 1), make(chan string, 1)
	go func() {
		ended <- emulator.Serve(ctx, emulator.Options{
			Harness: harness, Firmware: "../../firmware-notes/firmware/firmware.hex",
		}, func(path string) { ready <- path })
	}()
	select {
	case path = <-ready:
	case err := <-ended:
		require.NoError(t, err)
	}
	t.Cleanup(func() { stop(); require.NoError(t, <-ended) })
	return path
}

func TestAskTheFirmware(t *testing.T) {
	t.Parallel()
	a := Ask(context.Background(), Device{Path: serve(t)})
	require.NoError(t, a.Err)
	require.EqualValues(t, protocol.BoardMega328, a.Identity.Board)
	require.NotZero(t, a.Identity.Marks&protocol.MarkEmulated)
}

// The firmware follows the speed of the port, which here restarts no board.
func TestConnectAtEitherSpeed(t *testing.T) {
	t.Parallel()
	path := serve(t)
	for _, baud := range []int{protocol.BaudSlow, protocol.BaudFast} {
		port, c, err := Connect(context.Background(), path, baud)
		require.NoError(t, err)
		require.Equal(t, baud, c.Baud)
		require.EqualValues(t, protocol.BoardMega328, c.Identity.Board)
		require.NoError(t, port.Close())
	}
	_, _, err := Connect(context.Background(), path+"-gone", 0)
	var failed *OpenError
	require.ErrorAs(t, err, &failed)
}

func TestFindTakesTheOnlyBoardAndRemembersIt(t *testing.T) {
	known := goleak.IgnoreCurrent()
	t.Cleanup(func() { goleak.VerifyNone(t, known) })
	memory := filepath.Join(t.TempDir(), "new", "board.json")
	rigBoard := device(t, board(identity, 500_000))
	port, a, err := find(context.Background(), []Device{device(t, silent), rigBoard}, memory)
	require.NoError(t, err)
	require.Equal(t, rigBoard, a.Device)
	_, err = port.Write([]byte{0}) // it is open
	require.NoError(t, err)
	require.NoError(t, port.Close())
	again, ok := recall(memory).among([]Device{rigBoard})
	require.True(t, ok)
	require.Equal(t, rigBoard, again)
}

// Two boards answer: the one used last is taken, else the person is asked.
func TestFindAmongSeveral(t *testing.T) {
	t.Parallel()
	memory := filepath.Join(t.TempDir(), "board.json")
	one, two := device(t, board(identity, 500_000)), device(t, board(identity, 500_000))
	_, _, err := find(context.Background(), []Device{one, two}, memory)
	var several *SeveralError
	require.ErrorAs(t, err, &several)
	require.Equal(t, []string{one.Path, two.Path}, several.Paths)
	require.NoFileExists(t, memory)

	remember(memory, two, 0)
	port, a, err := find(context.Background(), []Device{one, two}, memory)
	require.NoError(t, err)
	require.Equal(t, two, a.Device)
	require.NoError(t, port.Close())
}

func TestFindNothing(t *testing.T) {
	t.Parallel()
	memory := filepath.Join(t.TempDir(), "board.json")
	_, _, err := find(context.Background(), nil, memory)
	require.ErrorContains(t, err, "plug the board in")

	quiet := device(t, silent)
	remember(memory, quiet, 0)
	other := Device{Path: quiet.Path + "-not-usb"} // must not be touched
	_, _, err = find(context.Background(), []Device{quiet, other}, memory)
	var none *NotFoundError
	require.ErrorAs(t, err, &none)
	require.Len(t, none.Answers, 1, "the one used last is asked once")
	require.ErrorContains(t, err, quiet.Path)
}

func TestFindStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, _, err := find(ctx, []Device{device(t, board(identity, 500_000))}, "")
	require.ErrorIs(t, err, context.Canceled)
}

// A port that another program has open is not opened, and that program is
// named, whoever the person is.
func TestPortInUse(t *testing.T) {
	d := device(t, silent)
	holder := holdOpen(t, d.Path)
	a := Ask(context.Background(), d)
	var failed *OpenError
	require.ErrorAs(t, a.Err, &failed)
	require.True(t, failed.Busy())
	require.ErrorContains(t, a.Err, holder)
	require.ErrorContains(t, a.Err, "close the other program")
}

// While a Port is open here the system lets nobody else but root in: the
// library has locked it.
func TestOpenPortIsLocked(t *testing.T) {
	d := device(t, silent)
	port, err := Open(context.Background(), d.Path, protocol.BaudFast)
	require.NoError(t, err)
	defer port.Close()
	require.Contains(t, openAsNobody(t, d.Path), "busy")
}

var _ io.ReadWriteCloser = (*Port)(nil)

// shell runs a command of sh and gives it, once it has said a line, and that line.
func shell(t *testing.T, nobody bool, script, path string) (*exec.Cmd, string) {
	t.Helper()
	cmd := exec.Command("sh", "-c", script, "sh", path)
	if nobody && os.Getuid() == 0 {
		require.NoError(t, os.Chmod(path, 0o666))
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	in, err := cmd.StdinPipe()
	require.NoError(t, err)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { in.Close(); _ = cmd.Wait() })
	said, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	return cmd, said
}

// holdOpen has another program hold a port open, and gives what it is called.
func holdOpen(t *testing.T, path string) string {
	cmd, _ := shell(t, false, `exec 3<>"$1"; echo open; read wait`, path)
	return fmt.Sprintf("sh (process %d)", cmd.Process.Pid)
}

// openAsNobody gives what an unprivileged program is told when it opens a port.
func openAsNobody(t *testing.T, path string) string {
	_, said := shell(t, true, `(exec 3<>"$1") 2>&1; echo done`, path)
	return said
}
