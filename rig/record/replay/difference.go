package replay

import (
	"fmt"
	"reflect"
	"strings"

	"govrig/protocol"
	"govrig/protocol/frame"
	"govrig/rig/runlog"
)

// Difference is the first place at which today's host does other than the
// recorded one.
type Difference struct {
	// Frame is the number of telemetry frames that had come in, all the same.
	Frame int64
	// Message is the number of the host's message, from 1.
	Message int64
	// What says what differs.
	What string
}

func (d *Difference) Error() string {
	return fmt.Sprintf("after telemetry frame %d, at the host's message %d: %s", d.Frame, d.Message, d.What)
}

// differ ends the replay.
func (b *Board) differ(what string) error {
	b.err = &Difference{Frame: b.telemetry, Message: b.sent + 1, What: what}
	return b.err
}

// recorded says what the host did next in the record.
func (b *Board) recorded() string {
	switch b.entry.Kind {
	case runlog.ToBoard:
		return wrote(b.entry.Bytes)
	case runlog.HostTime:
		return "looked at its clock"
	case runlog.WriteFailed:
		return "could not write"
	}
	return "waited for the board"
}

// wrote says what was written.
func wrote(wire []byte) string {
	if m := decode(wire); m != nil {
		return "wrote " + reflect.TypeOf(m).Elem().Name()
	}
	return fmt.Sprintf("wrote % x", wire)
}

type message interface{ Parse([]byte) error }

// decode gives the message of the host in one frame, or nil.
func decode(wire []byte) message {
	var d frame.Decoder
	for _, c := range wire {
		bytes, ok := d.Next(c)
		if !ok {
			continue
		}
		for _, m := range []message{
			&protocol.Drive{}, &protocol.Identify{}, &protocol.Configure{}, &protocol.Stop{},
		} {
			if m.Parse(bytes) == nil {
				return m
			}
		}
	}
	return nil
}

// compare names the fields in which two frames differ.
func compare(recorded, now []byte) string {
	a, b := decode(recorded), decode(now)
	if a == nil || b == nil || reflect.TypeOf(a) != reflect.TypeOf(b) {
		return "now the host " + wrote(now) + "; in the record it " + wrote(recorded)
	}
	x, y := reflect.ValueOf(a).Elem(), reflect.ValueOf(b).Elem()
	var fields []string
	for i := range x.NumField() {
		if v, w := x.Field(i).Interface(), y.Field(i).Interface(); v != w {
			fields = append(fields, fmt.Sprintf("%s was %v, now %v", x.Type().Field(i).Name, v, w))
		}
	}
	return x.Type().Name() + ": " + strings.Join(fields, "; ")
}
