package runlog

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"govrig/protocol/harmless"
	"govrig/rig/measure"
	"govrig/rig/phase"
)

// Record is a run read back. Opening one reads the small files only.
type Record struct {
	Dir  string
	Info Info
	End  *End // nil when none was written
}

// Open opens the record in dir.
func Open(dir string) (*Record, error) {
	r := &Record{Dir: dir}
	if err := r.read(infoFile, &r.Info); err != nil {
		return nil, err
	}
	if r.Info.Schema != Schema {
		return nil, fmt.Errorf("%s has the form %q, this govrig reads %q", dir, r.Info.Schema, Schema)
	}
	r.Info.Options = compact(r.Info.Options)
	var end End
	switch err := r.read(endFile, &end); {
	case err == nil:
		r.End = &end
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	return r, nil
}

// compact leaves out the white space that a file has for people.
func compact(text json.RawMessage) json.RawMessage {
	var b bytes.Buffer
	if json.Compact(&b, text) != nil {
		return text
	}
	return b.Bytes()
}

func (r *Record) path(name string) string { return filepath.Join(r.Dir, name) }

func (r *Record) read(name string, v any) error {
	b, err := os.ReadFile(r.path(name))
	if err != nil {
		return err
	}
	if err := json.Unmarshal(b, v); err != nil {
		return fmt.Errorf("%s: %w", r.path(name), err)
	}
	harmless.Lines(v) // somebody else may have written it
	return nil
}

// Reason is how the run ended.
func (r *Record) Reason() string {
	if r.End == nil {
		return CutOff
	}
	return r.End.Reason
}

// Result reads the result document. Its absence is fs.ErrNotExist.
func (r *Record) Result() (result measure.Result, err error) {
	return result, r.read(resultFile, &result)
}

// Machine reads the machine file as it was.
func (r *Record) Machine() ([]byte, error) {
	text, err := os.ReadFile(r.path(machineFile))
	if err != nil {
		return nil, err
	}
	return text, nil
}

// Event is one line of script.jsonl.
type Event struct {
	// After is how many entries of wire.bin came before it.
	After int64           `json:"after"`
	Event string          `json:"event"`
	Value json.RawMessage `json:"value"`
}

// Kinds of Event.
const (
	EventPlant    = "plant"    // a plant was put into the loop, with its parameters: a Plant
	EventPhases   = "phases"   // phases were added to the script
	EventSettings = "settings" // the board was set up anew
	EventAnswer   = "answer"   // a question was answered: an Answer
	EventStop     = "stop"     // the person stopped the run
)

// Plant is the value of an EventPlant.
type Plant struct {
	Kind       string `json:"kind"`
	Parameters any    `json:"parameters"` // SI units
}

// Answer is the value of an EventAnswer.
type Answer struct {
	Key    string `json:"key"` // of the question
	Answer string `json:"answer"`
	Nobody bool   `json:"nobody,omitempty"` // nobody was there to answer
}

// Events reads what was ordered, in order. A torn last line is left out.
func (r *Record) Events() (events []Event, err error) {
	err = r.lines(scriptFile, func(line []byte) error {
		var e Event
		if err := json.Unmarshal(line, &e); err != nil {
			return fmt.Errorf("%s: %w", r.path(scriptFile), err)
		}
		events = append(events, e)
		return nil
	})
	return events, err
}

// Phases gives what the phases were that were ordered, in order. In a record of
// before they had keys, the name stands for the kind.
func (r *Record) Phases() (keys []phase.Key, err error) {
	events, err := r.Events()
	if err != nil {
		return nil, err
	}
	for _, e := range events {
		if e.Event != EventPhases {
			continue
		}
		var phases []struct {
			Name string    `json:"name"`
			Key  phase.Key `json:"key"`
		}
		if err := json.Unmarshal(e.Value, &phases); err != nil {
			return nil, fmt.Errorf("%s: %w", r.path(scriptFile), err)
		}
		for _, p := range phases {
			if p.Key.Kind == "" {
				p.Key.Kind = phase.Kind(p.Name)
			}
			keys = append(keys, p.Key)
		}
	}
	return keys, nil
}

// Wire opens wire.bin. The caller closes it.
func (r *Record) Wire() (*WireReader, error) {
	f, err := os.Open(r.path(wireFile))
	if err != nil {
		return nil, err
	}
	return &WireReader{r: bufio.NewReaderSize(f, 1<<16), file: f}, nil
}

// lines gives each whole line of a file, without its end, to each. A last line
// without an end is torn and left out.
func (r *Record) lines(name string, each func([]byte) error) (err error) {
	f, err := os.Open(r.path(name))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	b := bufio.NewReaderSize(f, 1<<16)
	var long []byte
	for {
		line, err := b.ReadSlice('\n')
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			long = append(long, line...)
			continue
		case err != nil:
			return ended(err)
		case len(long) > 0:
			line = append(long, line...)
		}
		if err := each(line[:len(line)-1]); err != nil {
			return err
		}
		long = long[:0]
	}
}
