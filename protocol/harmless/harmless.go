// Package harmless makes text from outside harmless: machine names, notes, headers of
// tables, names of ports and files, what a board or another program says. What is
// shown to a person, on whatever it is shown, passes through it.
//
// A terminal acts on control characters (C0, C1 and DEL of ISO/IEC 6429), and the
// controls of writing direction (Unicode Standard Annex 9) let a text look like
// another. They become Mark.
package harmless

import (
	"io"
	"reflect"
	"strings"
	"unicode/utf8"
)

// Mark stands where something was that is not shown.
const Mark = '\uFFFD'

// Line gives text as one line: line breaks and tabs become spaces, all else that
// is not harmless becomes Mark.
func Line(text string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '\n', '\r', '\t', '\v', '\f', '\u0085', '\u2028', '\u2029':
			return ' '
		}
		return shown(r)
	}, text)
}

// Lines makes every text within what v points to a line, but not the keys of
// maps and not what is encoded already.
func Lines(v any) { lines(reflect.ValueOf(v).Elem()) }

func lines(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		if v.CanSet() {
			v.SetString(Line(v.String()))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			lines(v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			lines(v.Field(i))
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			lines(v.Index(i))
		}
	}
}

// shown gives a rune, or Mark in its place.
func shown(r rune) rune {
	switch {
	case r == '\n', r == '\t':
		return r
	case r < ' ', r >= 0x7F && r <= 0x9F: // C0, DEL, C1
		return Mark
	case r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, r == 0x200E, r == 0x200F, r == 0x061C: // direction
		return Mark
	case r == 0x2028, r == 0x2029: // separators of lines and paragraphs
		return Mark
	}
	return r
}

// Writer lets only harmless text through; tabs are, and line breaks of either form.
type Writer struct {
	to   io.Writer
	rest []byte // the beginning of a rune, or of a line break
	out  []byte
}

// NewWriter gives a Writer to another.
func NewWriter(to io.Writer) *Writer { return &Writer{to: to} }

// Write passes p on. A rune may come in pieces.
func (w *Writer) Write(p []byte) (int, error) {
	in := append(w.rest, p...)
	w.out = w.out[:0]
	for len(in) > 0 && utf8.FullRune(in) {
		if in[0] == '\r' && len(in) == 1 {
			break
		}
		if in[0] == '\r' && in[1] == '\n' {
			w.out, in = append(w.out, '\r', '\n'), in[2:]
			continue
		}
		r, size := utf8.DecodeRune(in)
		w.out = utf8.AppendRune(w.out, shown(r))
		in = in[size:]
	}
	w.rest = append([]byte(nil), in...)
	if _, err := w.to.Write(w.out); err != nil {
		return 0, err
	}
	return len(p), nil
}
