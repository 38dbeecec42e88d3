package model

import (
	"reflect"
	"strings"

	"govrig/sim/keyfile"
	"govrig/sim/unit"
)

// Estimate is a value with its standard uncertainty (one standard deviation; JCGM
// 100, Guide to the expression of uncertainty in measurement) and the run that it
// came from. An uncertainty of 0 is not told.
type Estimate[Q ~float64] struct {
	Value       Q      `yaml:"value" range:"section" about:"What it came to."`
	Uncertainty Q      `yaml:"uncertainty" default:"" range:"width" about:"Its standard uncertainty."`
	Run         string `yaml:"run" default:"" example:"2026-11-28-180000-sweep" about:"The run that it came from."`
}

// The estimates of each kind of quantity.
type (
	Gain         = Estimate[unit.Gain]
	Time         = Estimate[unit.Time]
	Share        = Estimate[unit.Share]
	Speed        = Estimate[unit.Speed]
	Frequency    = Estimate[unit.Frequency]
	Acceleration = Estimate[unit.Acceleration]
	Number       = Estimate[float64]
)

// Known makes an estimate.
func Known[Q ~float64](value, uncertainty float64, run string) *Estimate[Q] {
	return &Estimate[Q]{Q(value), Q(uncertainty), run}
}

// override puts what is known in the place of a value.
func override[Q ~float64](into *float64, e *Estimate[Q]) {
	if e != nil {
		*into = float64(e.Value)
	}
}

// Entry is one estimate of a file.
type Entry struct {
	// Path is that of its key, such as law.integral_time; About says what it is.
	Path, About string
	// Dimension is nil of a plain number.
	Dimension *unit.Dimension
	// Unit is the one that it is written in.
	Unit string
	// Known is false where the file does not have it.
	Known              bool
	Value, Uncertainty float64
	Run                string
}

// Name is what it is called, in words.
func (e *Entry) Name() string {
	return strings.ReplaceAll(e.Path[strings.LastIndex(e.Path, ".")+1:], "_", " ")
}

// Text writes a value of the entry's kind.
func (e *Entry) Text(v float64, digits int) string { return text(e.Dimension, v, e.Unit, digits) }

// Entries are all estimates that a file can have, in order.
func (m *Model) Entries() (all []Entry) {
	v := reflect.ValueOf(m).Elem()
	for _, section := range file.Keys {
		if section.Kind != keyfile.Section {
			continue
		}
		fields := fieldOf(v, section.Name)
		for _, k := range section.Keys {
			if k.Kind == keyfile.Section {
				all = append(all, entry(section.Name, k, fieldOf(fields, k.Name)))
			}
		}
	}
	return all
}

// entry reads the estimate that a pointer points at.
func entry(section string, k *keyfile.Key, pointer reflect.Value) Entry {
	e := Entry{Path: keyfile.Join(section, k.Name), About: k.About, Dimension: k.Keys[0].Dimension, Known: !pointer.IsNil()}
	e.Unit = strings.TrimLeft(k.Keys[0].High, "0123456789. ")
	if e.Known {
		at := pointer.Elem()
		e.Value, e.Uncertainty, e.Run = at.Field(0).Float(), at.Field(1).Float(), at.Field(2).String()
	}
	return e
}

// fieldOf is the field of a struct that a key is read into.
func fieldOf(v reflect.Value, key string) reflect.Value {
	for i := range v.NumField() {
		if v.Type().Field(i).Tag.Get("yaml") == key {
			return v.Field(i)
		}
	}
	return reflect.Value{}
}
