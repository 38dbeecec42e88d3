package machine

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
func (d *decoder) absent(k *Key, keys []*Key, section reflect.Value, path string, at place) {
	v, fallback := section.Field(k.field), k.Default
	if k.Petrol != "" && section.Field(find(keys, "fuel").field).String() == string(Petrol) {
		fallback = k.Petrol
	}
	switch {
	case k.Needed:
		d.failAt(at, path, "missing", k.hint())
	case v.Kind() == reflect.Struct:
		d.section(nil, k.Keys, v, path, at)
	case fallback == "":
	case fallback[0] == '=':
		v.Set(section.Field(find(keys, fallback[1:]).field))
		d.defaults = append(d.defaults, path+": as "+fallback[1:])
	default:
		k.assign(fallback, v)
		d.defaults = append(d.defaults, path+": "+fallback)
	}
}

// hint says how to add the key.
func (k *Key) hint() string {
	if k.Kind >= Section {
		return "add the section “" + k.Name + ":”. " + k.About
	}
	return "add a line such as “" + k.Name + ": " + k.Example + "”. " + k.About
}
