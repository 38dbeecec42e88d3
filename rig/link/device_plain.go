//go:build darwin && !cgo

package link

import (
	"strings"

	"go.bug.st/serial"
)

// devices goes by the names that macOS gives: its own frameworks, which know
// more, are out of reach of a program built without C. Each port is there
// twice; opening the one called tty waits for a modem's carrier.
func devices() (found []Device, err error) {
	paths, err := serial.GetPortsList()
	for _, path := range paths {
		if strings.HasPrefix(path, "/dev/cu.") {
			usb := strings.Contains(strings.ToLower(path), "usb") || strings.Contains(path, "SLAB")
			found = append(found, Device{Path: path, USB: usb})
		}
	}
	return found, err
}
