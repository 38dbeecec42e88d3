package machine

import (
	"errors"
	"io"
	"os"
	"reflect"
)

// MaxSize is the greatest size of a machine file, in bytes. A new file has
// about a third of it.
const MaxSize = 32 << 10

// Load reads the machine file at path. Errors are Faults, or those of the file
// system.
func Load(path string) (*Machine, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, MaxSize+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, err
	}
	return Parse(path, data)
}

// Parse reads a machine file from memory; name is shown in errors. Errors are
// Faults.
func Parse(name string, data []byte) (*Machine, error) {
	d := &decoder{file: name, places: map[string]place{}}
	m := &Machine{File: name, Text: string(data)}
	if root := d.read(data); root != nil {
		d.section(root, Keys, reflect.ValueOf(m).Elem(), "", wholeFile)
	}
	if len(d.faults) == 0 {
		d.bind(m)
	}
	if len(d.faults) > 0 {
		d.faults.sort()
		return nil, d.faults
	}
	m.Defaults, m.Cautions = d.defaults, d.cautions
	return m, nil
}
