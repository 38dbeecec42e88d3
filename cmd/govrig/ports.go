package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	firmware "govrig/firmware-notes"
	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/link"
)

type portsOptions struct {
	json  bool
	noAsk bool
}

func newPortsCommand(io streams) *cobra.Command {
	var o portsOptions
	c := &cobra.Command{
		Use:   "ports [PORT...]",
		Short: "List serial ports and tell which of them answers as a rig board",
		Long: `Lists the serial ports of this computer and asks on those on USB, or on the ones
named, who is there. Asking restarts most boards and takes up to nine seconds.
A port that is not listed may be named all the same.

Exit codes: 0 a rig board answers, 3 none does.`,
		Example: "  govrig ports\n  govrig ports --json\n  govrig ports /dev/ttyUSB0",
		RunE: func(c *cobra.Command, args []string) error {
			return ports(c.Context(), io, args, o)
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print one JSON document, schema "+portsSchema)
	c.Flags().BoolVar(&o.noAsk, "no-ask", false, "list only, open nothing")
	return c
}

func ports(ctx context.Context, io streams, named []string, o portsOptions) error {
	devices, err := link.Devices(ctx)
	if err != nil {
		return &exitError{code: exitNoBoard, err: err}
	}
	chosen, rest := link.OnUSB(devices), offUSB(devices)
	if len(named) > 0 {
		chosen, rest = byPath(devices, named), nil
	}
	if o.noAsk {
		chosen, rest = nil, append(chosen, rest...)
	}
	if len(chosen) > 0 {
		fmt.Fprintln(io.err, "Asking who is there; that takes up to nine seconds.")
	}
	answers := link.AskAll(ctx, chosen)
	if ctx.Err() != nil {
		return &exitError{code: exitStopped, err: errors.New("stopped")}
	}
	doc := newPortsDocument(answers, rest)
	if err := doc.print(io.out, o.json); err != nil {
		return err
	}
	switch {
	case o.noAsk || doc.rigs() > 0:
		return nil
	case len(answers)+len(doc.WithoutDriver) == 0:
		return &exitError{code: exitNoBoard, err: &link.NotFoundError{}}
	}
	return &exitError{code: exitNoBoard}
}

// byPath gives the named devices; one that is not listed is known by its path
// alone.
func byPath(devices []link.Device, paths []string) (named []link.Device) {
	for _, path := range paths {
		found := link.Device{Path: path}
		for _, d := range devices {
			if d.Path == path {
				found = d
			}
		}
		named = append(named, found)
	}
	return named
}

func offUSB(devices []link.Device) (rest []link.Device) {
	for _, d := range devices {
		if !d.USB {
			rest = append(rest, d)
		}
	}
	return rest
}

const portsSchema = "govrig/ports/1"

// portsDocument is what govrig ports --json prints.
type portsDocument struct {
	Schema        string      `json:"schema"`
	Ports         []portEntry `json:"ports"`
	WithoutDriver []string    `json:"without_driver"`
}

// portEntry is one port. Answer is one of: rig, rig_of_another_version,
// boot_loader, something_else, nothing, in_use, denied, missing, error,
// not_asked.
type portEntry struct {
	Port       string `json:"port"`
	USBVendor  string `json:"usb_vendor,omitempty"`
	USBProduct string `json:"usb_product,omitempty"`
	USBSerial  string `json:"usb_serial,omitempty"`
	Chip       string `json:"chip,omitempty"`
	UsedLast   bool   `json:"used_last"`
	UsedBaud   int    `json:"used_baud,omitempty"` // speed at which it was used last
	Answer     string `json:"answer"`
	Baud       int    `json:"baud,omitempty"`
	Firmware   string `json:"firmware,omitempty"`
	Wire       int    `json:"wire_version,omitempty"`
	Emulated   bool   `json:"emulated,omitempty"`
	Advice     string `json:"advice,omitempty"`
}

func newPortsDocument(answers []link.Answer, rest []link.Device) *portsDocument {
	doc := &portsDocument{Schema: portsSchema, Ports: []portEntry{}, WithoutDriver: link.Driverless()}
	all := rest
	for i := range answers {
		doc.Ports = append(doc.Ports, answered(&answers[i]))
		all = append(all, answers[i].Device)
	}
	for _, d := range rest {
		e := describe(d)
		e.Answer = "not_asked"
		doc.Ports = append(doc.Ports, e)
	}
	last, known := link.Last(all)
	for i := range doc.Ports {
		if e := &doc.Ports[i]; known && e.Port == last.Path {
			e.UsedLast, e.UsedBaud = true, link.LastBaud()
		}
	}
	if doc.WithoutDriver == nil {
		doc.WithoutDriver = []string{}
	}
	return doc
}

func describe(d link.Device) portEntry {
	return portEntry{Port: d.Path, USBVendor: d.Vendor, USBProduct: d.Product, USBSerial: d.Serial, Chip: d.Chip()}
}

// answered tells what came of asking on a port, and what to do about it.
func answered(a *link.Answer) portEntry {
	e := describe(a.Device)
	var version *protocol.VersionError
	var open *link.OpenError
	switch {
	case a.Err == nil:
		e.identified(a)
	case errors.As(a.Err, &version):
		e.Answer, e.Wire, e.Baud = "rig_of_another_version", int(version.Board), a.Baud
		e.Advice = "govrig flash --port " + a.Path + " writes the firmware of this govrig"
	case a.Boot != 0:
		e.Answer, e.Baud = "boot_loader", a.Boot
		e.Advice = "no rig firmware; if this is your board: govrig flash --port " + a.Path
	case errors.Is(a.Err, rig.ErrForeign):
		e.Answer = "something_else"
		e.Advice = "not as a rig board does; if this is your board, with another program: govrig flash --force --port " + a.Path
	case errors.Is(a.Err, rig.ErrNoAnswer):
		e.Answer, e.Advice = "nothing", "no boot loader either: is it a board, and has it power?"
	case errors.As(a.Err, &open) && open.Busy():
		e.Answer, e.Advice = "in_use", a.Err.Error()
	case errors.As(a.Err, &open) && open.Denied():
		e.Answer, e.Advice = "denied", a.Err.Error()
	case errors.As(a.Err, &open) && open.Missing():
		e.Answer, e.Advice = "missing", a.Err.Error()
	default:
		e.Answer, e.Advice = "error", a.Err.Error()
	}
	return e
}

func (e *portEntry) identified(a *link.Answer) {
	id := &a.Identity
	e.Answer, e.Baud, e.Wire = "rig", a.Baud, int(id.Protocol)
	e.Firmware = fmt.Sprintf("%d.%d", id.FirmwareMajor, id.FirmwareMinor)
	e.Emulated = id.Marks&protocol.MarkEmulated != 0
	if older(id) {
		e.Advice = fmt.Sprintf("older than the firmware of this govrig, %d.%d: govrig flash --port %s", firmware.Major, firmware.Minor, a.Path)
	}
}

// older tells whether a board's firmware is older than the one on board here.
func older(id *protocol.Identity) bool {
	return int(id.FirmwareMajor)<<8+int(id.FirmwareMinor) < firmware.Major<<8+firmware.Minor
}

func (doc *portsDocument) rigs() (n int) {
	for i := range doc.Ports {
		if doc.Ports[i].Answer == "rig" {
			n++
		}
	}
	return n
}

func (doc *portsDocument) print(w io.Writer, asJSON bool) error {
	if asJSON {
		encoder := json.NewEncoder(w)
		encoder.SetIndent("", "  ")
		encoder.SetEscapeHTML(false)
		return encoder.Encode(doc)
	}
	table := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for i := range doc.Ports {
		doc.Ports[i].line(table)
	}
	for _, text := range doc.WithoutDriver {
		fmt.Fprintln(table, text)
	}
	return table.Flush()
}

// line tells of a port in words.
func (e *portEntry) line(w io.Writer) {
	what := map[string]string{
		"rig_of_another_version": fmt.Sprintf("rig board that speaks version %d of the wire, this govrig speaks %d", e.Wire, protocol.Version),
		"boot_loader":            fmt.Sprintf("a boot loader answers, at %d baud", e.Baud),
		"something_else":         "something else",
		"nothing":                "nothing answers",
		"in_use":                 "in use",
		"denied":                 "no permission",
		"missing":                "no such port",
		"error":                  "error",
		"not_asked":              "not asked",
	}[e.Answer]
	if e.Answer == "rig" {
		what = fmt.Sprintf("rig board, firmware %s, wire version %d, %d baud", e.Firmware, e.Wire, e.Baud)
	}
	if e.Emulated {
		what += ", EMULATED"
	}
	switch {
	case e.UsedBaud != 0:
		what += fmt.Sprintf(" (used last, at %d baud)", e.UsedBaud)
	case e.UsedLast:
		what += " (used last)"
	}
	fmt.Fprintf(w, "%s\t%s\t%s\n", e.Port, e.Chip, what)
	if e.Advice != "" {
		fmt.Fprintf(w, "\t\t%s\n", e.Advice)
	}
}
