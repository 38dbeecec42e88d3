package keyfile

import (
	"strconv"
	"strings"

	prose "govrig/sim/words"
)

// Write gives a new file with remarks below a head. Answers are what a person
// gave, by path, such as "engine.displacement" or "gears[0].driver"; each is
// checked as in a file. Values are for keys without an answer; where there is
// none, the key's example stands. Errors are Faults; what counts in them is
// their Path.
func (f *File) Write(head string, answers, values map[string]string) (string, error) {
	w := writer{answers: answers, values: values}
	w.b.WriteString(head)
	w.section(f.Keys, "", "")
	if len(w.faults) > 0 {
		return "", w.faults
	}
	return strings.TrimRight(w.b.String(), "\n") + "\n", nil
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
		at := Join(path, k.Name)
		inner := strings.ReplaceAll(indent, "-", " ")
		w.remark(strings.TrimSuffix(indent, "- "), k)
		outer := w.hidden
		w.hidden = outer || k.optional
		switch k.Kind {
		case Named:
			w.line(indent, k.Name+":")
			w.line(inner+"  ", k.Example+":")
			w.section(k.Keys, Join(at, k.Example), inner+"    ")
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
	text, answered := w.answer(k, Join(path, name))
	if !answered {
		if text, answered = w.values[Join(path, name)]; !answered {
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
	if problem, remedy := k.Check(text); problem != "" {
		w.faults = append(w.faults, &Fault{Path: path, Text: text, Problem: problem, Remedy: remedy})
	}
	return text, true
}

// usual is the value of a key without an answer: that of the key that it
// follows, or an example.
func (w *writer) usual(k *Key, section []*Key, path string) string {
	if other, ok := strings.CutPrefix(k.Default, "="); ok && k.Example == find(section, other).Example {
		if text, ok := w.answers[Join(path, other)]; ok {
			return text
		}
		if text, ok := w.values[Join(path, other)]; ok {
			return text
		}
	}
	return k.Assumed(w.answers[Join(path, k.variant.Key)])
}

// remark writes what a key means, in lines of usual length.
func (w *writer) remark(indent string, k *Key) {
	about := k.Remark()
	if len(k.OneOf) > 1 {
		about += " One of: " + strings.Join(k.OneOf, ", ") + "."
	}
	w.b.WriteString(prose.Wrap(indent+"# ", indent+"# ", about, 79))
}
