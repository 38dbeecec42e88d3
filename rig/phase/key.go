// Package phase names what happens in the phases of a run, from the script through
// the record to the figure.
package phase

import (
	"fmt"
	"strings"
)

// Key is what a phase is: that, and not its name, is what programs go by.
type Key struct {
	// Kind is what happens in it, in a person's words.
	Kind Kind `json:"kind"`
	// Of is what it happens to or because of: a fault, a load; empty is nothing
	// more to tell.
	Of string `json:"of,omitempty"`
	// Setting is the speed setting, where a run has several.
	Setting string `json:"setting,omitempty"`
	// Number counts phases alike, from 1; 0 is the only one.
	Number int `json:"number,omitempty"`
	// Void: it could not be judged, and was played again.
	Void bool `json:"void,omitempty"`
}

// Kind is what happens in a phase.
type Kind string

// String is the key in words, which is the phase's name.
func (k Key) String() string {
	words := string(k.Kind)
	if k.Of != "" {
		words = strings.TrimSpace(words + " " + strings.ReplaceAll(k.Of, "_", " "))
	}
	if k.Number > 0 {
		words += fmt.Sprintf(" %d", k.Number)
	}
	if k.Setting != "" {
		words += ", " + k.Setting
	}
	if k.Void {
		words += " (void)"
	}
	return words
}
