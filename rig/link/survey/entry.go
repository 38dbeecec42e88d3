package survey

import (
	"errors"
	"fmt"

	firmware "govrig/firmware-notes"
	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/link"
)

func describe(d link.Device) Entry {
	return Entry{Port: d.Path, USBVendor: d.Vendor, USBProduct: d.Product, USBSerial: d.Serial, Chip: d.Chip()}
}

// answered says what came of asking on a port, and what to do about it.
func answered(a *link.Answer) Entry {
	e := describe(a.Device)
	var version *protocol.VersionError
	var open *link.OpenError
	switch {
	case a.Err == nil:
		e.identified(a)
	case errors.As(a.Err, &version):
		e.Answer, e.Wire, e.Baud = OtherVersion, int(version.Board), a.Baud
		e.Advice = "govrig flash --port " + a.Path + " writes the firmware of this govrig"
	case a.Boot != 0:
		e.Answer, e.Baud = BootLoader, a.Boot
		e.Advice = "no rig firmware; if this is your board: govrig flash --port " + a.Path
	case errors.Is(a.Err, rig.ErrForeign):
		e.Answer = SomethingElse
		e.Advice = "not as a rig board does; if this is your board, with another program: govrig flash --force --port " + a.Path
	case errors.Is(a.Err, rig.ErrNoAnswer):
		e.Answer, e.Advice = Nothing, "no boot loader either: is it a board, and has it power?"
	case errors.As(a.Err, &open) && open.Busy():
		e.Answer, e.Advice = InUse, a.Err.Error()
	case errors.As(a.Err, &open) && open.Denied():
		e.Answer, e.Advice = Denied, a.Err.Error()
	case errors.As(a.Err, &open) && open.Missing():
		e.Answer, e.Advice = Missing, a.Err.Error()
	default:
		e.Answer, e.Advice = Failed, a.Err.Error()
	}
	return e
}

func (e *Entry) identified(a *link.Answer) {
	id := &a.Identity
	e.Answer, e.Baud, e.Wire = Rig, a.Baud, int(id.Protocol)
	e.Firmware = fmt.Sprintf("%d.%d", id.FirmwareMajor, id.FirmwareMinor)
	e.Emulated = id.Marks&protocol.MarkEmulated != 0
	if older(id) {
		e.Advice = fmt.Sprintf("older than the firmware of this govrig, %d.%d: govrig flash --port %s", firmware.Major, firmware.Minor, a.Path)
	}
}

// older reports whether a board's firmware is older than the one on board here.
func older(id *protocol.Identity) bool {
	return int(id.FirmwareMajor)<<8+int(id.FirmwareMinor) < firmware.Major<<8+firmware.Minor
}

// What says in words what there is on the port.
func (e *Entry) What() string {
	what := map[Kind]string{
		OtherVersion:  fmt.Sprintf("rig board that speaks version %d of the wire, this govrig speaks %d", e.Wire, protocol.Version),
		BootLoader:    fmt.Sprintf("a boot loader answers, at %d baud", e.Baud),
		SomethingElse: "something else",
		Nothing:       "nothing answers",
		InUse:         "in use",
		Denied:        "no permission",
		Missing:       "no such port",
		Failed:        "error",
		NotAsked:      "not asked",
	}[e.Answer]
	if e.Answer == Rig {
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
	return what
}
