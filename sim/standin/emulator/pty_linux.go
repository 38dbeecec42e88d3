package emulator

import (
	"errors"
	"os"
	"time"

	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"govrig/protocol"
)

// port is the controlling end of a pseudo-terminal.
type port struct{ *os.File }

func openPort() (*port, string, error) {
	master, slave, err := pty.Open()
	if err != nil {
		return nil, "", err
	}
	// The settings outlive this descriptor; holding it would hide that no host
	// is there.
	path := slave.Name()
	err = errors.Join(makeRaw(slave), slave.Close())
	p := &port{master}
	err = errors.Join(err, p.control(func(fd int) error { return unix.SetNonblock(fd, true) }))
	if err != nil {
		master.Close()
		return nil, "", err
	}
	return p, path, nil
}

// makeRaw stops the terminal from echoing and editing, as cfmakeraw(3) does.
func makeRaw(f *os.File) error {
	p := port{f}
	return p.control(func(fd int) error {
		t, err := unix.IoctlGetTermios(fd, unix.TCGETS)
		if err != nil {
			return err
		}
		t.Iflag &^= unix.IGNBRK | unix.BRKINT | unix.PARMRK | unix.ISTRIP | unix.INLCR | unix.IGNCR | unix.ICRNL | unix.IXON
		t.Oflag &^= unix.OPOST
		t.Lflag &^= unix.ECHO | unix.ECHONL | unix.ICANON | unix.ISIG | unix.IEXTEN
		t.Cflag = t.Cflag&^(unix.CSIZE|unix.PARENB) | unix.CS8
		return unix.IoctlSetTermios(fd, unix.TCSETS, t)
	})
}

// control calls f with the descriptor, which stays open meanwhile.
func (p *port) control(f func(fd int) error) error {
	raw, err := p.SyscallConn()
	if err != nil {
		return err
	}
	var failed error
	if err := raw.Control(func(fd uintptr) { failed = f(int(fd)) }); err != nil {
		return err
	}
	return failed
}

// present reports whether a host has the port open.
func (p *port) present() (bool, error) {
	var hungUp bool
	err := p.control(func(fd int) error {
		fds := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}}
		_, err := unix.Poll(fds, 0)
		hungUp = fds[0].Revents&unix.POLLHUP != 0
		return ignore(err, unix.EINTR)
	})
	return !hungUp, err
}

// await waits until the host has sent something, but no longer than patience,
// and not at all while there is no host.
func (p *port) await(patience time.Duration) error {
	if patience <= 0 {
		return nil
	}
	return p.control(func(fd int) error {
		fds := []unix.PollFd{{Fd: int32(fd), Events: unix.POLLIN}} // without a host it is ready at once
		err := error(unix.EINTR)
		for errors.Is(err, unix.EINTR) { // the runtime's own signals
			_, err = unix.Poll(fds, int(patience.Milliseconds()))
		}
		return err
	})
}

// speed is the speed that the host has set, if that is one of the firmware's; else
// it is the fast one.
func (p *port) speed() int {
	speed := protocol.BaudFast
	_ = p.control(func(fd int) error {
		t, err := unix.IoctlGetTermios(fd, unix.TCGETS2)
		if err == nil && t.Ospeed == protocol.BaudSlow {
			speed = protocol.BaudSlow
		}
		return err
	})
	return speed
}

// receive gives what the host has sent, without waiting.
func (p *port) receive(b []byte) (n int, err error) {
	err = p.control(func(fd int) error {
		n, err = unix.Read(fd, b)
		return ignore(err, unix.EAGAIN, unix.EINTR, unix.EIO) // EIO: no host
	})
	return max(n, 0), err
}

// send passes on what fits and says how much that was, without waiting.
// Without a host, all is lost.
func (p *port) send(b []byte) (n int, err error) {
	here, err := p.present()
	if err != nil || !here || len(b) == 0 {
		return len(b), err
	}
	err = p.control(func(fd int) error {
		n, err = unix.Write(fd, b)
		return ignore(err, unix.EAGAIN, unix.EINTR, unix.EIO)
	})
	return max(n, 0), err
}

// ignore turns some errors into none.
func ignore(err error, ignored ...error) error {
	for _, i := range ignored {
		if errors.Is(err, i) {
			return nil
		}
	}
	return err
}
