package link

import (
	"errors"
	"io"
	"os"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// straight reads and writes a port on the caller's own thread: handing bytes from
// one goroutine to another takes longer than all else that the host does between
// a frame and its answer. It waits by poll(2), so that no driver can hold it.
type straight struct {
	mu     sync.RWMutex // is held by a look at the port, for pollTime at most
	fd     int
	closed bool
}

// openStraight opens a port that the library is about to open and to lock; nil is
// that it cannot.
func openStraight(path string) *straight {
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil
	}
	return &straight{fd: fd}
}

// read gives what has come in, within the patience.
func (s *straight) read(p []byte, patience time.Duration) (int, error) {
	for left := patience; ; left -= pollTime {
		n, err := s.look(p, min(left, pollTime))
		if err == nil && n == 0 {
			err = io.EOF
		}
		if !errors.Is(err, unix.EAGAIN) {
			return max(n, 0), err
		}
		if left <= pollTime {
			return 0, os.ErrDeadlineExceeded
		}
	}
}

// write writes as much of p as the port takes at once.
func (s *straight) write(p []byte) (int, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return 0, os.ErrClosed
	}
	n, err := unix.Write(s.fd, p)
	if errors.Is(err, unix.EAGAIN) || errors.Is(err, unix.EINTR) {
		return 0, nil
	}
	return max(n, 0), err
}

// look waits until something has come in, and takes it; unix.EAGAIN is that nothing
// has.
func (s *straight) look(p []byte, patience time.Duration) (int, error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return 0, os.ErrClosed
	}
	fds := [1]unix.PollFd{{Fd: int32(s.fd), Events: unix.POLLIN}}
	n, err := unix.Poll(fds[:], int(patience.Milliseconds()))
	switch {
	case errors.Is(err, unix.EINTR), err == nil && n == 0: // the runtime's own signals
		return 0, unix.EAGAIN
	case err != nil:
		return 0, err
	}
	n, err = unix.Read(s.fd, p)
	if errors.Is(err, unix.EINTR) {
		err = unix.EAGAIN
	}
	return n, err
}

func (s *straight) close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return nil
	}
	s.closed = true
	return unix.Close(s.fd)
}
