package export

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strconv"

	"govrig/rig/measure"
	"govrig/rig/record/replay"
	"govrig/rig/runlog"
)

// Schema is the version of the JSON form.
const Schema = "govrig/export/1"

// head is all of the JSON form that is small.
type head struct {
	Schema  string          `json:"schema"`
	Virtual bool            `json:"virtual"`
	Run     string          `json:"run"`    // name of the record
	Reason  string          `json:"reason"` // how it ended
	Info    runlog.Info     `json:"info"`
	End     *runlog.End     `json:"end"`
	Result  *measure.Result `json:"result"`
	Events  []runlog.Event  `json:"events"`
	Columns []string        `json:"columns"` // of samples
	Pulse   []string        `json:"pulse"`   // columns of pulses
}

// JSON writes everything a record holds but the raw bytes, as one object:
// samples and pulses are lists of lists, whose columns are named before them.
func JSON(w io.Writer, rec *runlog.Record) error {
	h := head{
		Schema: Schema, Virtual: rec.Info.Virtual, Run: rec.Name(), Reason: rec.Reason(), Info: rec.Info, End: rec.End,
		Pulse: []string{"line", "start_ticks", "width_ticks", "unseen"},
	}
	for _, c := range columns {
		h.Columns = append(h.Columns, c.name)
	}
	h.Columns = append(h.Columns, "phase")
	if err := errors.Join(soundSamples(rec), soundLines(rec)); err != nil {
		return err
	}
	var err error
	if h.Events, err = rec.Events(); err != nil {
		return err
	}
	switch result, err := rec.Result(); {
	case err == nil:
		h.Result = &result
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	text, err := json.MarshalIndent(h, "", "  ")
	if err != nil {
		return err
	}
	b := bufio.NewWriterSize(w, 1<<16)
	b.Write(text[:len(text)-2]) // without the end of line and the closing brace
	if err := errors.Join(samples(b, rec), pulses(b, rec)); err != nil {
		return err
	}
	b.WriteString("\n}\n")
	if err := b.Flush(); err != nil { // bufio keeps the first error
		return err
	}
	return nil
}

// samples writes the samples, the phase as an index.
func samples(b *bufio.Writer, rec *runlog.Record) error {
	hz, fast := float64(rec.Info.TickHz), replay.Fast(rec)
	var line []byte
	list := list{b: b}
	list.begin("samples")
	defer list.end()
	return rec.Samples(func(s *runlog.Sample) bool {
		line = append(line[:0], '[')
		for i, v := range values(s, hz, fast) {
			line = append(strconv.AppendFloat(line, v, 'f', columns[i].digits, 64), ',')
		}
		line = append(strconv.AppendInt(line, int64(s.Phase), 10), ']')
		list.item(line)
		return true
	})
}

var lineNames = map[replay.Line]string{replay.Pickup: "pickup", replay.Throttle: "throttle", replay.Probe: "probe"}

// pulses writes the pulses of all lines.
func pulses(b *bufio.Writer, rec *runlog.Record) error {
	list := list{b: b}
	list.begin("pulses")
	defer list.end()
	return replay.Lines(rec, replay.Watch{Pulse: func(p replay.Pulse) {
		list.item(fmt.Appendf(nil, "[%q,%d,%d,%d]", lineNames[p.Line], p.Start, p.Width, p.Unseen))
	}})
}

// list writes a list as the next key of an object, one item a line.
type list struct {
	b    *bufio.Writer
	some bool
}

func (l *list) begin(name string) { fmt.Fprintf(l.b, ",\n  %q: [", name) }

func (l *list) item(text []byte) {
	if l.some {
		l.b.WriteByte(',')
	}
	l.some = true
	l.b.WriteString("\n    ")
	l.b.Write(text)
}

func (l *list) end() { l.b.WriteString("\n  ]") }
