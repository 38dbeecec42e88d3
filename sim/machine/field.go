package machine

import (
	"reflect"
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// keyOf is the key of a field in the file, or "" if it has none.
func keyOf(f reflect.StructField) string {
	if key := f.Tag.Get("yaml"); key != "-" {
		return key
	}
	return ""
}

func fieldNames(t reflect.Type) []string {
	var names []string
	for i := range t.NumField() {
		if key := keyOf(t.Field(i)); key != "" {
			names = append(names, key)
		}
	}
	return names
}

// words are those that the field allows, or nil for any.
func words(f reflect.StructField) []string {
	if one := f.Tag.Get("one"); one != "" {
		return strings.Split(one, ",")
	}
	return nil
}

// exampleOf is a value that the field accepts.
func exampleOf(f reflect.StructField) string {
	for _, tag := range []string{"example", "default"} {
		if text := f.Tag.Get(tag); text != "" && text != "-" && text[0] != '=' {
			return text
		}
	}
	if w := words(f); w != nil {
		return w[0]
	}
	return f.Tag.Get("low")
}

func keyText(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.IntegerNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// needed tells whether a field must be given: it has no default, or it is a
// section with a key that must be given.
func needed(f reflect.StructField) bool {
	if _, ok := f.Tag.Lookup("default"); ok {
		return false
	}
	if f.Type.Kind() != reflect.Struct {
		return true
	}
	for i := range f.Type.NumField() {
		if sub := f.Type.Field(i); keyOf(sub) != "" && needed(sub) {
			return true
		}
	}
	return false
}

// absent deals with a key that is not in the file: its default, or a fault.
func (d *decoder) absent(f reflect.StructField, section, v reflect.Value, path string, at place) {
	fallback := f.Tag.Get("default")
	switch {
	case needed(f):
		d.failAt(at, path, "missing", hintFor(f))
	case v.Kind() == reflect.Struct:
		d.section(nil, v, path, at)
	case fallback == "-":
	case fallback[0] == '=':
		v.Set(sibling(section, fallback[1:]))
		d.defaults = append(d.defaults, path+": as "+fallback[1:])
	default:
		assign(fallback, f, v)
		d.defaults = append(d.defaults, path+": "+fallback)
	}
}

func hintFor(f reflect.StructField) string {
	if k := f.Type.Kind(); k == reflect.Struct || k == reflect.Slice {
		return "add the section “" + keyOf(f) + ":”. " + f.Tag.Get("about")
	}
	return "add a line such as “" + keyOf(f) + ": " + exampleOf(f) + "”. " + f.Tag.Get("about")
}

func sibling(section reflect.Value, key string) reflect.Value {
	for i := range section.NumField() {
		if keyOf(section.Type().Field(i)) == key {
			return section.Field(i)
		}
	}
	return reflect.Value{}
}
