// Package keyfile reads, checks, explains and writes YAML files whose keys are
// declared by the tags of a Go type: yaml is the name of a key, about the
// meaning, low and high the range, beyond what to ask above it, one the allowed
// words, default what is assumed without the key, example a value for a hint. A
// key without default is required; with an empty one its field stays empty. In a
// new file, required keys and those with new:"set" are filled in; the others are
// shown as remarks.
//
// A key with range:"section" takes the range of the section that it stands in, and
// one with range:"width" goes from 0 to the end of that: so one type of section
// serves many keys.
//
// Quantities are written with their unit ("8.5 mm", "120 g·m²"); a bare number
// is refused where a unit belongs. Every fault is shown with file, line, column,
// the text and what would be right, and as many faults as can be told apart are
// reported together.
package keyfile
