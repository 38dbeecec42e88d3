package runlog

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Message is one message of a record.
type Message struct {
	Direction Direction
	Bytes     []byte
}

// Record is a run read back.
type Record struct {
	Info     Info
	End      *End // nil when the program was cut off
	Messages []Message
	// Torn is how many bytes at the end of wire.bin are not a whole message.
	Torn int
}

// Read reads the record in dir.
func Read(dir string) (*Record, error) {
	r := &Record{}
	if err := readJSON(filepath.Join(dir, "run.json"), &r.Info); err != nil {
		return nil, fmt.Errorf("runlog: %w", err)
	}
	if r.Info.Schema != Schema {
		return nil, fmt.Errorf("runlog: %s has the form %q, this govrig reads %q", dir, r.Info.Schema, Schema)
	}
	var end End
	switch err := readJSON(filepath.Join(dir, "end.json"), &end); {
	case err == nil:
		r.End = &end
	case !errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("runlog: %w", err)
	}
	wire, err := os.ReadFile(filepath.Join(dir, "wire.bin"))
	if err != nil {
		return nil, fmt.Errorf("runlog: %w", err)
	}
	for len(wire) >= 2 && len(wire) >= 2+int(wire[1]) {
		n := 2 + int(wire[1])
		r.Messages = append(r.Messages, Message{Direction(wire[0]), wire[2:n]})
		wire = wire[n:]
	}
	r.Torn = len(wire)
	return r, nil
}

func readJSON(path string, v any) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(b, v); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	return nil
}
