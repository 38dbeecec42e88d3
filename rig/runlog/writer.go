// Package runlog keeps a run on disk: one folder with
//
//	run.json     what was run, on what board, with which machine and settings
//	samples.csv  one line a loop step
//	wire.bin     every message in both directions
//	script.jsonl what was ordered and when, one JSON object a line
//	end.json     how it ended; missing when the program was cut off
//
// It is written as the run goes. What stands in the files is readable at any
// moment; the newest tenth of a second may be missing when the program is cut
// off, and the last line or message may then be torn.
package runlog

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"govrig/protocol"
)

// Schema is the version of the record's form.
const Schema = "govrig/run/1"

// Info is what run.json holds.
type Info struct {
	Schema    string             `json:"schema"`
	Started   string             `json:"started"` // RFC 3339, by the host's clock
	Tool      string             `json:"tool"`    // version of govrig
	Procedure string             `json:"procedure"`
	Virtual   bool               `json:"virtual"` // no hardware took part
	Board     string             `json:"board"`   // virtual, emulated, or the port
	Identity  protocol.Identity  `json:"identity"`
	Settings  protocol.Configure `json:"settings"`
	StepTicks int64              `json:"step_ticks"`
	TickHz    uint32             `json:"tick_hz"`
	Speed     string             `json:"speed"`   // name of the speed setting
	Machine   string             `json:"machine"` // the machine file, as it was
}

// End is what end.json holds.
type End struct {
	// Reason is "complete", "stopped" or "error".
	Reason string `json:"reason"`
	// Error says more when Reason is "error".
	Error string `json:"error,omitempty"`
	// Result is the result document, when there is one.
	Result any `json:"result,omitempty"`
}

// Direction of a message in wire.bin.
type Direction byte

// The two directions.
const (
	FromBoard Direction = '<'
	ToBoard   Direction = '>'
)

// flushEvery is how many samples may wait in memory.
const flushEvery = 50

// Writer writes a run record. A nil Writer keeps nothing.
type Writer struct {
	dir     string
	rate    float64
	samples *stream
	wire    *stream
	script  *stream
	frames  int // messages from the board so far
	waiting int
	buf     []byte
	err     error
}

type stream struct {
	file *os.File
	*bufio.Writer
}

// Create makes the folder, which may not exist yet, and writes run.json.
func Create(dir string, info Info) (*Writer, error) {
	info.Schema = Schema
	if err := os.MkdirAll(filepath.Dir(dir), 0o755); err != nil {
		return nil, fmt.Errorf("runlog: %w", err)
	}
	if err := os.Mkdir(dir, 0o755); err != nil {
		return nil, fmt.Errorf("runlog: %w", err)
	}
	w := &Writer{dir: dir, rate: float64(info.TickHz), buf: make([]byte, 0, 256)}
	w.err = writeJSON(filepath.Join(dir, "run.json"), info)
	w.samples = w.open("samples.csv")
	w.wire = w.open("wire.bin")
	w.script = w.open("script.jsonl")
	if w.err == nil {
		_, w.err = w.samples.WriteString(header)
	}
	return w, w.err
}

// Dir is the record's folder.
func (w *Writer) Dir() string {
	if w == nil {
		return ""
	}
	return w.dir
}

func (w *Writer) open(name string) *stream {
	if w.err != nil {
		return nil
	}
	var file *os.File
	file, w.err = os.Create(filepath.Join(w.dir, name))
	return &stream{file, bufio.NewWriterSize(file, 1<<15)}
}

// Message keeps one message: a direction byte, its length, its bytes.
func (w *Writer) Message(direction Direction, message []byte) {
	if w == nil || w.err != nil {
		return
	}
	w.buf = append(w.buf[:0], byte(direction), byte(len(message)))
	w.buf = append(w.buf, message...)
	_, w.err = w.wire.Write(w.buf)
	if direction == FromBoard {
		w.frames++
	}
}

// Event keeps an order that was given after as many messages from the board as
// have been kept so far.
func (w *Writer) Event(order any) {
	if w == nil || w.err != nil {
		return
	}
	line, err := json.Marshal(struct {
		After int `json:"after_messages"`
		Order any `json:"order"`
	}{w.frames, order})
	if w.err = err; err == nil {
		_, w.err = w.script.Write(append(line, '\n'))
		w.flush()
	}
}

// Sample keeps one sample.
func (w *Writer) Sample(s *Sample) {
	if w == nil || w.err != nil {
		return
	}
	w.buf = s.appendCSV(w.buf[:0], w.rate)
	_, w.err = w.samples.Write(w.buf)
	if w.waiting++; w.waiting >= flushEvery {
		w.waiting = 0
		w.flush()
	}
}

func (w *Writer) flush() {
	w.err = errors.Join(w.err, w.samples.Flush(), w.wire.Flush(), w.script.Flush())
}

// Err gives the first error of writing, which also ends the keeping.
func (w *Writer) Err() error {
	if w == nil || w.err == nil {
		return nil
	}
	return fmt.Errorf("runlog: the record in %s is not complete: %w", w.dir, w.err)
}

// Close writes end.json and closes the files.
func (w *Writer) Close(end End) error {
	if w == nil {
		return nil
	}
	if w.err == nil {
		w.flush()
	}
	for _, s := range []*stream{w.samples, w.wire, w.script} {
		if s != nil {
			w.err = errors.Join(w.err, s.file.Close())
		}
	}
	w.err = errors.Join(w.err, writeJSON(filepath.Join(w.dir, "end.json"), end))
	return w.Err()
}

func writeJSON(path string, v any) error {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(path, append(b, '\n'), 0o644)
}
