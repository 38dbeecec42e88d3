//go:build !darwin || cgo

package link

import "go.bug.st/serial/enumerator"

func devices() (found []Device, err error) {
	ports, err := enumerator.GetDetailedPortsList()
	for _, p := range ports {
		if p.Name == "" {
			continue // it went away while it was looked at
		}
		found = append(found, Device{Path: p.Name, USB: p.IsUSB, Vendor: p.VID, Product: p.PID, Serial: p.SerialNumber})
	}
	return found, err
}
