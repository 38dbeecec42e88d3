// Package survey is the table of this computer's serial ports: who answers on
// each, and what to do where it is not a rig board of this version.
package survey

import (
	"context"

	"govrig/rig/link"
)

// Schema names the form of the document.
const Schema = "govrig/ports/1"

// Table is what stands on the ports of this computer; it marshals to the document
// that govrig ports --json prints.
type Table struct {
	// Schema is Schema.
	Schema string `json:"schema"`
	// Ports are those that were asked, then the others.
	Ports []Entry `json:"ports"`
	// WithoutDriver names USB chips of hobby boards that have no port.
	WithoutDriver []string `json:"without_driver"`
}

// Kind is what came of asking on a port.
type Kind string

// Kinds of answer.
const (
	Rig           Kind = "rig" // of this version
	OtherVersion  Kind = "rig_of_another_version"
	BootLoader    Kind = "boot_loader"
	SomethingElse Kind = "something_else"
	Nothing       Kind = "nothing"
	InUse         Kind = "in_use"
	Denied        Kind = "denied"
	Missing       Kind = "missing"
	Failed        Kind = "error"
	NotAsked      Kind = "not_asked"
)

// Entry is one port.
type Entry struct {
	Port       string `json:"port"`
	USBVendor  string `json:"usb_vendor,omitempty"`
	USBProduct string `json:"usb_product,omitempty"`
	USBSerial  string `json:"usb_serial,omitempty"`
	Chip       string `json:"chip,omitempty"`
	UsedLast   bool   `json:"used_last"`
	UsedBaud   int    `json:"used_baud,omitempty"` // speed at which it was used last
	Answer     Kind   `json:"answer"`
	Baud       int    `json:"baud,omitempty"`
	Firmware   string `json:"firmware,omitempty"`
	Wire       int    `json:"wire_version,omitempty"`
	Emulated   bool   `json:"emulated,omitempty"`
	Advice     string `json:"advice,omitempty"`
}

// Take lists the ports and asks on those that are named, else on those on USB,
// who is there; where ask is false it asks on none. begin is told before it asks,
// which takes up to nine seconds. The error is that of the listing, or ctx's.
func Take(ctx context.Context, named []string, ask bool, begin func()) (*Table, error) {
	devices, err := link.Devices(ctx)
	if err != nil {
		return nil, err
	}
	chosen, rest := choose(devices, named)
	if !ask {
		chosen, rest = nil, append(chosen, rest...)
	}
	if len(chosen) > 0 {
		begin()
	}
	answers := link.AskAll(ctx, chosen)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return newTable(answers, rest), nil
}

// choose gives the devices that are to be asked, and the rest of them.
func choose(devices []link.Device, named []string) (chosen, rest []link.Device) {
	for _, path := range named {
		chosen = append(chosen, link.Named(devices, path))
	}
	if len(named) > 0 {
		return chosen, nil
	}
	for _, d := range devices {
		if !d.USB {
			rest = append(rest, d)
		}
	}
	return link.OnUSB(devices), rest
}

func newTable(answers []link.Answer, rest []link.Device) *Table {
	t := &Table{Schema: Schema, Ports: []Entry{}, WithoutDriver: append([]string{}, link.Driverless()...)}
	all := rest
	for i := range answers {
		t.Ports = append(t.Ports, answered(&answers[i]))
		all = append(all, answers[i].Device)
	}
	for _, d := range rest {
		e := describe(d)
		e.Answer = NotAsked
		t.Ports = append(t.Ports, e)
	}
	last, known := link.Last(all)
	for i := range t.Ports {
		if e := &t.Ports[i]; known && e.Port == last.Path {
			e.UsedLast, e.UsedBaud = true, link.LastBaud()
		}
	}
	return t
}

// Rigs is on how many ports a rig board of this version answers.
func (t *Table) Rigs() int { return t.count(func(a Kind) bool { return a == Rig }) }

// Asked is on how many ports somebody was asked.
func (t *Table) Asked() int { return t.count(func(a Kind) bool { return a != NotAsked }) }

func (t *Table) count(which func(Kind) bool) (n int) {
	for i := range t.Ports {
		if which(t.Ports[i].Answer) {
			n++
		}
	}
	return n
}
