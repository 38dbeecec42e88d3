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

// Template writes a new machine file with remarks. Answers replace values by
// path, such as "engine.displacement" or "gears[0].driver"; the other values
// are those of an invented machine, brought to the size of the machine. Errors
// are Faults; what counts in them is their Path.
func Template(answers map[string]string) (string, error) {
	values := scaled(answers)
	text, m, err := write(answers, values)
	const load = "load_step.collective_high"
	if _, answered := answers[load]; answered || err != nil {
		return text, err
	}
	values[load] = byPath[load].Dimension.Round(newLoad(m).climb(float64(m.Speeds[0].HeadSpeed), climbPower), "°")
	text, _, err = write(answers, values)
	return text, err
}

// write gives a new file and what is read from it.
func write(answers, values map[string]string) (string, *Machine, error) {
	w := writer{answers: answers, values: values}
	w.b.WriteString(templateHead)
	w.section(Keys, "", "")
	if len(w.faults) > 0 {
		return "", nil, w.faults
	}
	text := strings.TrimRight(w.b.String(), "\n") + "\n"
	m, err := Parse("new", []byte(text))
	if err != nil {
		return "", nil, err
	}
	return text, m, nil
}

type writer struct {
	b       strings.Builder
	answers map[string]string
	values  map[string]string // of keys without an answer
	faults  Faults
	hidden  bool // in a section that is only shown
}

// section writes keys. After the first, "- " in the indentation gives way to
// spaces.
func (w *writer) section(keys []*Key, path, indent string) {
	for _, k := range keys {
		at := join(path, k.Name)
		inner := strings.ReplaceAll(indent, "-", " ")
		w.remark(strings.TrimSuffix(indent, "- "), k)
		outer := w.hidden
		w.hidden = outer || k.optional
		switch k.Kind {
		case Named:
			w.line(indent, k.Name+":")
			w.line(inner+"  ", k.Example+":")
			w.section(k.Keys, join(at, k.Example), inner+"    ")
		case List:
			w.line(indent, k.Name+":")
			w.section(k.Keys, at+"[0]", inner+"  - ")
		case Section:
			w.line(indent, k.Name+":")
			w.section(k.Keys, at, inner+"  ")
		default:
			w.value(k, keys, path, indent)
		}
		w.hidden = outer
		if path == "" {
			w.line("", "")
		}
		indent = inner
	}
}

func (w *writer) line(indent, text string) {
	if w.hidden && text != "" && text[0] != '#' {
		text = "#" + text
	}
	w.b.WriteString(indent + text + "\n")
}

// value writes a key with its value, behind a # if it shows a default only.
func (w *writer) value(k *Key, section []*Key, path, indent string) {
	name := k.Name
	text, answered := w.answer(k, join(path, name))
	if !answered {
		if text, answered = w.values[join(path, name)]; !answered {
			text = w.usual(k, section, path)
		}
	}
	if k.Kind == Text && k.OneOf == nil {
		text = strconv.Quote(text)
	}
	if !answered && !k.Needed && !k.set {
		name = "#" + name
	}
	w.line(indent, name+": "+text)
}

// answer is what the person gave for a path, checked as in a file.
func (w *writer) answer(k *Key, path string) (string, bool) {
	text, given := w.answers[path]
	if !given {
		return "", false
	}
	if problem, remedy := k.assign(text, k.scratch()); problem != "" {
		w.faults = append(w.faults, &Fault{Path: path, Text: text, Problem: problem, Remedy: remedy})
	}
	return text, true
}

// usual is the value of a key without an answer: that of the key that it
// follows, or an example.
func (w *writer) usual(k *Key, section []*Key, path string) string {
	if other, ok := strings.CutPrefix(k.Default, "="); ok && k.Example == find(section, other).Example {
		if text, ok := w.answers[join(path, other)]; ok {
			return text
		}
		if text, ok := w.values[join(path, other)]; ok {
			return text
		}
	}
	return k.assumed(Fuel(w.answers["engine.fuel"]))
}

// scratch is a place for a value that nobody keeps.
func (k *Key) scratch() reflect.Value {
	switch k.Kind {
	case Text:
		return reflect.New(reflect.TypeFor[string]()).Elem()
	case Whole:
		return reflect.New(reflect.TypeFor[int]()).Elem()
	}
	return reflect.New(reflect.TypeFor[float64]()).Elem()
}

// remark writes what a key means, in lines of usual length.
func (w *writer) remark(indent string, k *Key) {
	about := k.Remark()
	if len(k.OneOf) > 1 {
		about += " One of: " + strings.Join(k.OneOf, ", ") + "."
	}
	w.b.WriteString(prose.Wrap(indent+"# ", indent+"# ", about, 79))
}
