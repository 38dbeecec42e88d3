package keyfile

import (
	"slices"

	"govrig/sim/unit"
)

// Key declares one key of a file: what it means, how it is written, its range
// and what is assumed without it. Reader, schema, new files and any form read it
// here.
type Key struct {
	// Name is the key in the file; About its meaning.
	Name, About string
	// Kind is how its value is written.
	Kind Kind
	// Dimension is that of a Quantity or a Curve.
	Dimension *unit.Dimension
	// Low and High are the ends of the range, both allowed, written with their
	// unit; empty for texts and sections.
	Low, High string
	// Beyond is what to ask when a value lies above High; empty is nothing.
	Beyond string
	// Needed is set when the key has to be given.
	Needed bool
	// Default is what is assumed without the key, and Varied, if not empty, what
	// is assumed in its place when the file's Variant holds in the section. An
	// empty Default of a key that is not needed leaves the value out; "=name"
	// takes that of another key of the section.
	Default, Varied string
	// Example is a value that the key accepts, or a name for an entry of Named;
	// empty for sections and lists.
	Example string
	// OneOf are the words that are allowed; nil is any text.
	OneOf []string
	// Keys are those of a section, or of each entry of a List or of Named.
	Keys []*Key

	optional  bool   // a section that may be left out whole
	set       bool   // filled in in a new file, though it has a default
	ranged    string // takes the range of its section, or "width" from 0 to its end
	low, high float64
	field     int // of the Go struct
	variant   Variant
}

// Kind is how the value of a key is written.
type Kind int

// Kinds of values.
const (
	Text     Kind = iota // any text, or one of a few words
	Whole                // a whole number
	Decimal              // a plain number
	Quantity             // a number with its unit
	Curve                // a list of quantities
	Section              // keys of its own
	List                 // a list of sections
	Named                // sections by a name that the person chooses
)

// Assumed is what is assumed without the key where the key of the Variant is a
// word, or an example.
func (k *Key) Assumed(word string) string {
	if word == k.variant.Word && k.Varied != "" {
		return k.Varied
	}
	return k.Example
}

// Range is the range in SI; both ends are 0 for a text.
func (k *Key) Range() (low, high float64) { return k.low, k.high }

// Remark is what the key means, with what is assumed in the Variant.
func (k *Key) Remark() string {
	if k.Varied == "" {
		return k.About
	}
	return k.About + " With " + k.variant.Word + " " + k.Varied + "."
}

func names(keys []*Key) []string {
	all := make([]string, len(keys))
	for i, k := range keys {
		all[i] = k.Name
	}
	return all
}

// find gives the key of a name, or nil.
func find(keys []*Key, name string) *Key {
	if at := slices.IndexFunc(keys, func(k *Key) bool { return k.Name == name }); at >= 0 {
		return keys[at]
	}
	return nil
}
