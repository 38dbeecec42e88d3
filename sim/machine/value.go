package machine

import (
	"fmt"
	"reflect"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"govrig/sim/machine/unit"
)

var speedsType = reflect.TypeFor[Speeds]()

// value reads a node into a field.
func (d *decoder) value(n ast.Node, f reflect.StructField, v reflect.Value, path string) {
	switch {
	case v.Type() == speedsType:
		d.speeds(n, v, path)
	case v.Kind() == reflect.Struct:
		d.section(n, v, path, d.where(path))
	case v.Kind() == reflect.Slice:
		d.list(n, v, path)
	default:
		if text, ok := d.scalar(n, path); ok {
			at := nodePlace(n)
			d.places[path] = at
			d.set(text, n, f, v, path)
		}
	}
}

// scalar gives the text of a plain or quoted value.
func (d *decoder) scalar(n ast.Node, path string) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	case *ast.LiteralNode:
		return n.Value.Value, true
	}
	if !d.special(n, path) {
		d.fail(n, path, quote(show(n))+" stands where a value belongs", "write one value on the same line as the key")
	}
	return "", false
}

// set puts a text into a field of a plain type and checks its range.
func (d *decoder) set(text string, n ast.Node, f reflect.StructField, v reflect.Value, path string) {
	target := v
	if v.Kind() == reflect.Pointer {
		target = reflect.New(v.Type().Elem()).Elem()
	}
	problem, remedy := assign(text, f, target)
	if problem == "" && !isQuantity(target.Type()) {
		problem, remedy = wrongQuotes(text, n, target.Kind())
	}
	if problem != "" {
		d.fail(n, path, problem, remedy)
		return
	}
	if v.Kind() == reflect.Pointer {
		v.Set(target.Addr())
	}
}

func isQuoted(n ast.Node) bool {
	_, ok := n.(*ast.StringNode)
	t := n.GetToken().Type
	return ok && (t == token.SingleQuoteType || t == token.DoubleQuoteType)
}

// wrongQuotes refuses a quoted number and an unquoted text that YAML takes for
// something else, so that every reader of the file sees the same.
func wrongQuotes(text string, n ast.Node, kind reflect.Kind) (problem, remedy string) {
	isText := false
	switch n.(type) {
	case *ast.StringNode, *ast.LiteralNode:
		isText = true
	}
	switch {
	case kind == reflect.String && !isText:
		return quote(text) + " is not text to a YAML reader", "put it in quotes"
	case kind != reflect.String && isQuoted(n):
		return quote(text) + " is quoted", "write the number without quotes"
	}
	return "", ""
}

func isQuantity(t reflect.Type) bool {
	return t.Implements(reflect.TypeFor[unit.Quantity]())
}

// list reads a sequence of sections.
func (d *decoder) list(n ast.Node, v reflect.Value, path string) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		if !d.special(n, path) {
			d.fail(n, path, quote(show(n))+" stands where a list belongs", "begin each entry with “- ” on a line below the key")
		}
		return
	}
	if len(seq.Values) == 0 {
		d.fail(n, path, "the list is empty", "give it at least one entry")
	}
	for i, item := range seq.Values {
		at := fmt.Sprintf("%s[%d]", path, i)
		d.places[at] = nodePlace(item)
		entry := reflect.New(v.Type().Elem()).Elem()
		d.section(item, entry, at, d.places[at])
		v.Set(reflect.Append(v, entry))
	}
}

// speeds reads a mapping from names to speed settings and keeps its order.
func (d *decoder) speeds(n ast.Node, v reflect.Value, path string) {
	entries, ok := d.entries(n, path, nil)
	if !ok {
		return
	}
	if len(entries) == 0 {
		d.fail(n, path, "no speed is named", "name at least one, such as “hover:” with its head_speed below it")
	}
	pairs, _ := d.pairs(n, path)
	for _, p := range pairs {
		name, ok := keyText(p.Key)
		if !ok || entries[name] != p {
			continue
		}
		if !speedName.MatchString(name) {
			d.fail(p.Key, path, quote(name)+" cannot name a speed", "use up to 24 letters, digits, _ and -, a letter first")
			continue
		}
		at := join(path, name)
		d.places[at] = nodePlace(p.Key)
		setting := SpeedSetting{Name: name}
		d.section(p.Value, reflect.ValueOf(&setting).Elem(), at, d.places[at])
		v.Set(reflect.Append(v, reflect.ValueOf(setting)))
	}
}
