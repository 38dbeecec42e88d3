package machine

import (
	"reflect"
	"strconv"
	"strings"

	prose "govrig/sim/words"
)

const templateHead = `# A machine file for govrig.
#
# Fill in the values below. Quantities are written with their unit: 8.5 mm,
# 120 g·m², 1650 rpm. Without these signs on the keyboard: g*m2, cm3, us, deg.
# A line such as "#travel: 90°" shows what is assumed; take away its # to change
# it. "govrig plan" with the name of this file checks it and prints the sheet.
#
# Caution: nothing in this file makes a part stronger. The greatest head speed
# that the blade maker allows comes first, and nobody stands in the plane of
# turning blades. Where local rules or the maker's manual ask for more, they
# hold.

`

// templateSpeed is the name of the speed setting in a new file.
const templateSpeed = "hover"

// Template writes a new machine file with remarks. Answers replace values by
// path, such as "engine.displacement" or "gears[0].driver"; the other values
// are those of an invented trainer. Errors are Faults; what counts in them is
// their Path.
func Template(answers map[string]string) (string, error) {
	w := writer{answers: answers}
	w.b.WriteString(templateHead)
	w.section(reflect.TypeFor[Machine](), "", "")
	if len(w.faults) > 0 {
		return "", w.faults
	}
	text := strings.TrimRight(w.b.String(), "\n") + "\n"
	if _, err := Parse("new", []byte(text)); err != nil {
		return "", err
	}
	return text, nil
}

type writer struct {
	b       strings.Builder
	answers map[string]string
	faults  Faults
}

// section writes the keys of a struct. After the first, "- " in the
// indentation gives way to spaces.
func (w *writer) section(t reflect.Type, path, indent string) {
	for i := range t.NumField() {
		f := t.Field(i)
		key := keyOf(f)
		if key == "" {
			continue
		}
		at := join(path, key)
		inner := strings.ReplaceAll(indent, "-", " ")
		w.remark(strings.TrimSuffix(indent, "- "), f)
		switch {
		case f.Type == speedsType:
			w.line(indent, key+":")
			w.line(inner+"  ", templateSpeed+":")
			w.section(f.Type.Elem(), join(at, templateSpeed), inner+"    ")
		case f.Type.Kind() == reflect.Slice:
			w.line(indent, key+":")
			w.section(f.Type.Elem(), at+"[0]", inner+"  - ")
		case f.Type.Kind() == reflect.Struct:
			w.line(indent, key+":")
			w.section(f.Type, at, inner+"  ")
		default:
			w.value(f, t, path, indent)
		}
		if path == "" {
			w.line("", "")
		}
		indent = inner
	}
}

func (w *writer) line(indent, text string) { w.b.WriteString(indent + text + "\n") }

// value writes a key with its value, behind a # if it shows a default only.
func (w *writer) value(f reflect.StructField, section reflect.Type, path, indent string) {
	key := keyOf(f)
	text, answered := w.answer(f, join(path, key))
	if !answered {
		text = w.usual(f, section, path)
	}
	if f.Type.Kind() == reflect.String && words(f) == nil {
		text = strconv.Quote(text)
	}
	if !answered && !needed(f) && f.Tag.Get("new") == "" {
		key = "#" + key
	}
	w.line(indent, key+": "+text)
}

// answer is what the person gave for a path, checked as in a file.
func (w *writer) answer(f reflect.StructField, path string) (string, bool) {
	text, given := w.answers[path]
	if !given {
		return "", false
	}
	t := f.Type
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if problem, remedy := assign(text, f, reflect.New(t).Elem()); problem != "" {
		w.faults = append(w.faults, &Fault{Path: path, Text: text, Problem: problem, Remedy: remedy})
	}
	return text, true
}

// usual is the value of a field without an answer.
func (w *writer) usual(f reflect.StructField, section reflect.Type, path string) string {
	if other, ok := strings.CutPrefix(f.Tag.Get("default"), "="); ok && f.Tag.Get("example") == "" {
		for i := range section.NumField() {
			if sibling := section.Field(i); keyOf(sibling) == other {
				if text, ok := w.answers[join(path, other)]; ok {
					return text
				}
				return exampleOf(sibling)
			}
		}
	}
	return exampleOf(f)
}

// remark writes what a key means, in lines of usual length.
func (w *writer) remark(indent string, f reflect.StructField) {
	about := f.Tag.Get("about")
	if list := words(f); len(list) > 1 {
		about += " One of: " + strings.Join(list, ", ") + "."
	}
	w.b.WriteString(prose.Wrap(indent+"# ", indent+"# ", about, 79))
}
