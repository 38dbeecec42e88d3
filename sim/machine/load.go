package machine

import (
	"errors"
	"fmt"
	"govrig/sim/keyfile"
	"io"
	"os"
	"path/filepath"
)

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
	data, err := io.ReadAll(io.LimitReader(f, keyfile.MaxSize+1))
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
		if near := keyfile.Nearest(meant, there); near != "" {
			return fmt.Errorf("there is no file %s; did you mean %s?", keyfile.Printable(path), keyfile.Printable(folder+near))
		}
	}
	return fmt.Errorf("there is no file %s; govrig new writes one", keyfile.Printable(path))
}

// Parse reads a machine file from memory; name is shown in errors. Errors are
// Faults.
func Parse(name string, data []byte) (*Machine, error) {
	m := &Machine{File: name, Text: string(data)}
	k := &checker{File.Read(name, data, m)}
	if k.Faults() == 0 {
		k.bind(m)
	}
	var err error
	if m.Defaults, m.Cautions, err = k.Close(); err != nil {
		return nil, err
	}
	return m, nil
}
