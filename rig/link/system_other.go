//go:build !linux

package link

import "runtime"

// driverAdvice says where a missing driver shows.
var driverAdvice = map[string]string{
	"windows": "in the Device Manager a board without its driver stands under other devices with a yellow mark: " +
		"install the driver of its USB chip (CH340, CP210x, FTDI: the name is printed on the chip)",
	"darwin": "in System Information, USB, look whether it is there at all; an old macOS wants the driver of its USB chip " +
		"(CH340, CP210x, FTDI), a new one your consent in Privacy & Security",
}[runtime.GOOS]

// usersOf cannot know other programs here; the system refuses a port in use.
func usersOf(string) []string { return nil }

func permissionAdvice(string) string {
	return "look at who owns the port (ls -l), or close the other program that uses it"
}

// Driverless cannot know of USB devices without a port here.
func Driverless() []string { return nil }

// setLowLatency can do nothing here: on Windows the time for which an FTDI
// chip holds bytes back is set in the Device Manager (port, advanced, latency
// timer: 1 ms); macOS drivers have it fixed.
func setLowLatency(string) (release func()) { return func() {} }

// keepFromChildren can do nothing here: on Windows no program inherits a port, and
// macOS does not show whose it is.
func keepFromChildren(string) {}
