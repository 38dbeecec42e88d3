package keyfile

import (
	"reflect"

	"github.com/goccy/go-yaml/ast"
)

func keyText(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.IntegerNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// absent deals with a key that is not in the file: its default, or a fault.
func (r *Reader) absent(k *Key, keys []*Key, section reflect.Value, path string, at place) {
	v, fallback := section.Field(k.field), k.Default
	if k.Varied != "" && section.Field(find(keys, k.variant.Key).field).String() == k.variant.Word {
		fallback = k.Varied
	}
	switch {
	case k.Needed:
		r.failAt(at, path, "missing", k.hint())
	case v.Kind() == reflect.Struct:
		r.section(nil, k.Keys, v, path, at)
	case fallback == "":
	case fallback[0] == '=':
		v.Set(section.Field(find(keys, fallback[1:]).field))
		r.defaults = append(r.defaults, path+": as "+fallback[1:])
	default:
		k.assign(fallback, v)
		r.defaults = append(r.defaults, path+": "+fallback)
	}
}

// hint says how to add the key.
func (k *Key) hint() string {
	if k.Kind >= Section {
		return "add the section “" + k.Name + ":”. " + k.About
	}
	return "add a line such as “" + k.Name + ": " + k.Example + "”. " + k.About
}
