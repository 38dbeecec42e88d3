package link

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"
)

// Device is a serial port of this computer.
type Device struct {
	// Path opens it: /dev/ttyUSB0, COM3.
	Path string
	// USB reports whether it hangs on USB, as hobby boards do.
	USB bool
	// Vendor and Product are its USB ids, four hexadecimal digits; empty
	// where the system does not tell.
	Vendor, Product string
	// Serial is its USB serial number; many cheap boards have none.
	Serial string
}

// bridges are the USB chips of hobby boards by their vendor's id.
var bridges = map[string]string{
	"0403": "FTDI", "067B": "PL2303", "10C4": "CP210x", "1A86": "CH340",
	"03EB": "USB of the board", "2341": "USB of the board", "2A03": "USB of the board",
}

// Chip names the chip between USB and board; empty when it is not known.
func (d *Device) Chip() string { return bridges[strings.ToUpper(d.Vendor)] }

// listTime is how long the system may take to list its ports.
const listTime = 5 * time.Second

// ErrListing is a system that does not come to the end of listing its ports.
var ErrListing = errors.New("the system takes too long to list its serial ports: " +
	"unplug serial devices one by one (Bluetooth ones too), or name the port yourself")

// Devices lists the serial ports of this computer by their paths.
func Devices(ctx context.Context) ([]Device, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, listTime, ErrListing)
	defer cancel()
	type answer struct {
		devices []Device
		err     error
	}
	done := make(chan answer, 1)
	go func() { // on some systems this hangs: it is then left behind
		devices, err := devices()
		done <- answer{devices, err}
	}()
	select {
	case <-ctx.Done():
		return nil, context.Cause(ctx)
	case a := <-done:
		if a.err != nil {
			return nil, fmt.Errorf("cannot list the serial ports: %w", a.err)
		}
		slices.SortFunc(a.devices, func(a, b Device) int { return strings.Compare(a.Path, b.Path) })
		return a.devices, nil
	}
}

// Named gives the device at a path; one that is not listed is known by its path
// alone.
func Named(devices []Device, path string) Device {
	for _, d := range devices {
		if d.Path == path {
			return d
		}
	}
	return Device{Path: path}
}

// Gone reports whether the port at path is no longer there, as far as the system
// tells.
func Gone(ctx context.Context, path string) bool {
	if _, err := os.Stat(path); err == nil {
		return false
	}
	devices, err := Devices(ctx)
	return err == nil && !slices.ContainsFunc(devices, func(d Device) bool { return d.Path == path })
}
