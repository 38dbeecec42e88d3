package runlog

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"

	"govrig/protocol/harmless"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/runlog/block"
)

// Record is a run read back.
type Record struct {
	Dir  string
	Info Info
	End  *End // nil when none was written

	older bool  // of form 1
	sums  *sums // nil where there are none
}

// Open opens the record in dir. Where the run was finished, every file is held
// against its sum, and its result has to make sense: the error says what is wrong.
func Open(dir string) (*Record, error) {
	r, err := look(dir)
	if err != nil {
		return nil, err
	}
	if err := r.verify(grownFiles); err != nil {
		return nil, err
	}
	if _, err := r.Result(); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return r, nil
}

// look opens a record and looks at its small files only.
func look(dir string) (*Record, error) {
	r := &Record{Dir: dir}
	if err := r.read(infoFile, &r.Info); errors.Is(err, fs.ErrNotExist) {
		return nil, &FileError{dir, "holds no run: one that was killed before its record began leaves such a folder; else it begins just now, or run.json was removed", err}
	} else if err != nil {
		return nil, err
	}
	switch r.Info.Schema {
	case Schema:
	case schemaOne:
		r.older = true
	default:
		return nil, fmt.Errorf("%s has the form %.50q, this govrig reads %q and %q", harmless.Line(dir), r.Info.Schema, Schema, schemaOne)
	}
	r.Info.Options = compact(r.Info.Options)
	if err := r.readEnd(); err != nil {
		return nil, err
	}
	if err := r.Info.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", r.shown(infoFile), err)
	}
	return r, r.unchanged()
}

// readEnd reads the end, if the record has one.
func (r *Record) readEnd() error {
	var end End
	err := r.read(endFile, &end)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if err := end.check(); err != nil {
		return fmt.Errorf("%s: %w", r.shown(endFile), err)
	}
	r.End = &end
	return nil
}

// unchanged holds the small files against their sums. One of form 1 has only that
// of the machine file.
func (r *Record) unchanged() error {
	if r.older {
		text, err := r.Machine()
		if hash := sha256.Sum256(text); err == nil && hex.EncodeToString(hash[:]) != r.Info.MachineSum {
			err = &FileError{Path: r.path(machineFile), Problem: "is not as it was when the run began: it was damaged or changed since"}
		}
		return err
	}
	if r.End == nil { // cut off: nothing was promised of it
		return nil
	}
	if err := r.readSums(); err != nil {
		return err
	}
	return r.verify(smallFiles)
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

// shown is the path in a sentence.
func (r *Record) shown(name string) string { return harmless.Line(r.path(name)) }

func (r *Record) read(name string, v any) error {
	b, err := readFile(r.path(name))
	if err != nil {
		return err
	}
	if err := decode(b, v); err != nil {
		return fmt.Errorf("%s: %w", r.shown(name), err)
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

// Result reads the result document. Its absence is fs.ErrNotExist; a run that was
// cut off has none.
func (r *Record) Result() (result measure.Result, err error) {
	if r.End == nil {
		return result, fmt.Errorf("%s has no end: %w", r.Name(), fs.ErrNotExist)
	}
	if err = r.read(resultFile, &result); err == nil {
		if err = checkResult(&result); err != nil {
			err = fmt.Errorf("%s: %w", r.shown(resultFile), err)
		}
	}
	return result, err
}

// Machine reads the machine file as it was.
func (r *Record) Machine() ([]byte, error) {
	return readFile(r.path(machineFile))
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
		if err := decode(line, &e); err != nil {
			return fmt.Errorf("%s: %w", r.shown(scriptFile), err)
		}
		harmless.Lines(&e)
		if events = append(events, e); len(events) > mostEvents {
			return &FileError{Path: r.path(scriptFile), Problem: "has more lines than it ever has"}
		}
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
			return nil, fmt.Errorf("%s: %w", r.shown(scriptFile), err)
		}
		for _, p := range phases {
			if p.Key.Kind == "" {
				p.Key.Kind = phase.Kind(p.Name)
			}
			harmless.Lines(&p.Key)
			if keys = append(keys, p.Key); len(keys) > mostPhases {
				return nil, &FileError{Path: r.path(scriptFile), Problem: "has more phases than any run has"}
			}
		}
	}
	return keys, nil
}

// Wire opens wire.bin. The caller closes it.
func (r *Record) Wire() (*WireReader, error) {
	f, size, err := openFile(r.path(wireFile))
	if err != nil {
		return nil, err
	}
	if r.older {
		return &WireReader{&wireOne{r: bufio.NewReaderSize(f, 1<<16), left: size}, f}, nil
	}
	return &WireReader{&wireBlocks{blocks: r.blocks(f, wireFile, size)}, f}, nil
}

func (r *Record) blocks(f io.Reader, name string, size int64) *blockFile {
	return &blockFile{path: r.path(name), size: size, blocks: block.NewReader(f), ended: r.End != nil}
}

// lines gives each whole line of a file, without its end, to each. A last line
// without an end is torn and left out.
func (r *Record) lines(name string, each func([]byte) error) (err error) {
	f, _, err := openFile(r.path(name))
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
			if long = append(long, line...); len(long) > mostLine {
				return &FileError{Path: r.path(name), Problem: "has a line that is longer than any ever is"}
			}
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
