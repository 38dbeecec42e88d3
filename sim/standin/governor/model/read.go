package model

import (
	"errors"
	"fmt"
	"io"
	"os"

	"govrig/sim/keyfile"
)

var file = keyfile.Declare[Model]("governor", "format: "+Format, "govrig identify writes one", keyfile.Variant{})

// Load reads the governor file at path. Errors are keyfile.Faults, or say what is
// wrong with the path.
func Load(path string) (*Model, error) {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no governor file %s; govrig identify writes one", keyfile.Printable(path))
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

// Parse reads a governor file from memory; name is shown in errors.
func Parse(name string, data []byte) (*Model, error) {
	m := &Model{File: name, Text: string(data)}
	r := file.Read(name, data, m)
	if r.Faults() == 0 {
		m.check(r)
	}
	if _, _, err := r.Close(); err != nil {
		return nil, err
	}
	return m, nil
}

// check refuses values that do not go together.
func (m *Model) check(r *keyfile.Reader) {
	if m.Law.DerivativeTime != nil && m.Law.DerivativeLag == nil {
		r.Fail("law.derivative_time", "a derivative without a filter", "give derivative_lag, too")
	}
	if on, off := m.Arming.On, m.Arming.Off; on != nil && off != nil && off.Value > on.Value {
		r.Fail("arming.arm_off", "it lies above arm_on", "a governor lets go at or below where it takes up")
	}
	for i, p := range m.Setting.Points {
		for _, before := range m.Setting.Points[:i] {
			if p.Pulse == before.Pulse {
				r.Fail(fmt.Sprintf("speed_setting.points[%d].pulse", i), "a second point at the same pulse", "keep one")
			}
		}
	}
}

// Schema is the JSON Schema of the file.
func Schema() any { return file.Schema() }
