package machine

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"reflect"
)

// MaxSize is the greatest size of a machine file, in bytes. A new file has
// about a third of it.
const MaxSize = 32 << 10

// Load reads the machine file at path. Errors are Faults, or say what is wrong
// with the path.
func Load(path string) (*Machine, error) {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, missing(path)
	}
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, MaxSize+1))
	if err = errors.Join(err, f.Close()); err != nil {
		return nil, err
	}
	return Parse(path, data)
}

// missing names the machine file that was most likely meant by a path at which
// there is none.
func missing(path string) error {
	folder, base := filepath.Split(path)
	there, _ := filepath.Glob(filepath.Join(folder, "*.yaml"))
	for i := range there {
		there[i] = filepath.Base(there[i])
	}
	for _, meant := range []string{base + ".yaml", base} {
		if near := nearest(meant, there); near != "" {
			return fmt.Errorf("there is no file %s; did you mean %s?", printable(path), printable(folder+near))
		}
	}
	return fmt.Errorf("there is no file %s; govrig new writes one", printable(path))
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
