package report

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"govrig/protocol"
	"govrig/rig/execution"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/words"
)

// Recorded writes a recorded run for a person: what Text writes, and how the
// run came about. m is nil for one without a machine.
func Recorded(w io.Writer, rec *runlog.Record, m *machine.Machine, r *execution.Run) error {
	var b strings.Builder
	switch _, err := rec.Result(); {
	case err == nil:
		if err := Text(&b, m, r); err != nil {
			return err
		}
	case errors.Is(err, fs.ErrNotExist):
		heading(&b, m, r)
		chart(&b, &r.Course)
	default:
		return err
	}
	b.WriteString("\n")
	for _, line := range particulars(rec) {
		if line[1] != "" {
			b.WriteString(words.Indent("  "+words.Right(line[0], 10)+" ", line[1]))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// particulars are what a record tells beside its result, by name.
func particulars(rec *runlog.Record) [][2]string {
	i := &rec.Info
	lines := [][2]string{
		{"run", rec.Name()},
		{"started", i.Started},
		{"ended", endWords(rec)},
		{"options", options(i)},
		{"board", boardWords(i)},
		{"clock", clockWords(rec)},
		{"govrig", fmt.Sprintf("%s on %s, protocol %d", i.Tool, i.System, i.Identity.Protocol)},
		{"machine", fmt.Sprintf("%s (file %.12s)", i.Machine, i.MachineSum)},
	}
	for _, caution := range i.Cautions {
		lines = append(lines, [2]string{"caution", caution})
	}
	return lines
}

// options are those of the procedure, when there are any.
func options(i *runlog.Info) string {
	if text := string(i.Options); text != "null" && text != "{}" {
		return text
	}
	return ""
}

// endWords says how the run ended and how long it was.
func endWords(rec *runlog.Record) string {
	length, err := rec.Length()
	if err != nil {
		return err.Error()
	}
	text := fmt.Sprintf("%s after %.1f s", rec.Reason(), length)
	if rec.End == nil {
		return text + ": the program was killed or the power failed, or the run is still going on"
	}
	if rec.End.Error != "" {
		text += ": " + rec.End.Error
	}
	if rec.End.Short != "" {
		text += "; " + rec.End.Short
	}
	return text
}

func boardWords(i *runlog.Info) string {
	id := i.Identity
	text := fmt.Sprintf("%s, firmware %d.%d, %g MHz", i.Board, id.FirmwareMajor, id.FirmwareMinor, float64(i.TickHz)/1e6)
	for _, reset := range []struct {
		bit  uint8
		name string
	}{
		{protocol.ResetPowerOn, "power-on"}, {protocol.ResetExternal, "reset pin"},
		{protocol.ResetBrownOut, "a dip of the supply"}, {protocol.ResetWatchdog, "its watchdog"},
	} {
		if id.ResetCause&reset.bit != 0 {
			text += ", started by " + reset.name
		}
	}
	return text
}

func clockWords(rec *runlog.Record) string {
	switch {
	case rec.Info.Lockstep:
		return "the board waited for the computer: there is no clock error"
	case rec.End == nil || rec.End.Clock == nil:
		return "the board's clock error is not known"
	}
	c := rec.End.Clock
	return fmt.Sprintf("the board's runs %+.3f %% off the computer's, ± %.3f %%", 100*c.Fast, 100*c.Uncertainty)
}
