package link

import (
	"encoding/json"
	"os"
	"path/filepath"
)

// memory is what is kept about the board used last. A port's name may change
// from one plugging in to the next; a USB serial number does not.
type memory struct {
	Port    string `json:"port"`
	Vendor  string `json:"usb_vendor,omitempty"`
	Product string `json:"usb_product,omitempty"`
	Serial  string `json:"usb_serial,omitempty"`
	// Baud is the speed of the wire at which it was used; 0 is not known.
	Baud int `json:"baud,omitempty"`
}

// memoryFile is where the board used last is kept: in the person's folder for
// settings. It is empty when there is none.
func memoryFile() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "govrig", "board.json")
}

// Last gives the device that was used last, if it is there.
func Last(devices []Device) (Device, bool) {
	return recall(memoryFile()).among(devices)
}

// Remember keeps d as the board used last.
func Remember(d Device) { remember(memoryFile(), d, 0) }

// LastBaud gives the speed at which the board used last was used; 0 is not known.
func LastBaud() int { return recall(memoryFile()).Baud }

// recall reads what is kept. Nothing depends on it: one that cannot be read is
// no memory.
func recall(file string) (m memory) {
	text, err := os.ReadFile(file)
	if err == nil && json.Unmarshal(text, &m) != nil {
		return memory{}
	}
	return m
}

// remember keeps d, used at a speed. Where that cannot be done the next search takes longer.
func remember(file string, d Device, baud int) {
	text, err := json.Marshal(memory{d.Path, d.Vendor, d.Product, d.Serial, baud})
	if err == nil && file != "" && os.MkdirAll(filepath.Dir(file), 0o755) == nil {
		_ = os.WriteFile(file, append(text, '\n'), 0o644)
	}
}

// among finds the remembered device: by its serial number where it has one,
// else by its port, where another kind of device may hang by now. A port that
// is not listed, as the system does not know it for one, is taken if it is there.
func (m memory) among(devices []Device) (Device, bool) {
	for _, d := range devices {
		if m.Serial != "" && m.is(d) {
			return d, true
		}
	}
	for _, d := range devices {
		if m.Port == d.Path {
			return d, m.Vendor == "" || m.sameKind(d)
		}
	}
	_, err := os.Stat(m.Port)
	return Device{Path: m.Port}, m.Port != "" && err == nil
}

func (m memory) sameKind(d Device) bool { return m.Vendor == d.Vendor && m.Product == d.Product }

// is reports whether d is the remembered device: by its serial number where that is
// known, else by its port.
func (m memory) is(d Device) bool {
	if m.Serial != "" {
		return m.Serial == d.Serial && m.sameKind(d)
	}
	return m.Port != "" && m.Port == d.Path && m.sameKind(d)
}
