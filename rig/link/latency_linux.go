package link

import (
	"encoding/binary"
	"unsafe"

	"golang.org/x/sys/unix"
)

const (
	serialFlags     = 16      // offset of flags in the kernel's struct serial_struct
	asyncLowLatency = 1 << 13 // ASYNC_LOW_LATENCY of linux/tty_flags.h
)

// setLowLatency asks the driver not to hold bytes back: an FTDI chip keeps them
// for 16 ms otherwise. The library tells its descriptor to nobody and locks the
// port, so this needs one of its own, opened before; it is closed by release,
// after the library has opened the port, so that the board is restarted once.
// Where it does not work, the measured loop delay tells.
func setLowLatency(path string) (release func()) {
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return func() {}
	}
	var settings [128]byte // struct serial_struct is shorter
	if control(fd, unix.TIOCGSERIAL, &settings) == nil {
		addLowLatency(&settings)
		_ = control(fd, unix.TIOCSSERIAL, &settings)
	}
	return func() { _ = unix.Close(fd) }
}

// addLowLatency sets the flag and leaves the rest as it is.
func addLowLatency(settings *[128]byte) {
	flags := binary.NativeEndian.Uint32(settings[serialFlags:])
	binary.NativeEndian.PutUint32(settings[serialFlags:], flags|asyncLowLatency)
}

func control(fd int, request uint, settings *[128]byte) error {
	_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), uintptr(request), uintptr(unsafe.Pointer(settings)))
	if errno != 0 {
		return errno
	}
	return nil
}
