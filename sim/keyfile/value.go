package keyfile

import (
	"fmt"
	"reflect"
	"strings"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// value reads a node into the field of a key.
func (r *Reader) value(n ast.Node, k *Key, v reflect.Value, path string) {
	switch k.Kind {
	case Named:
		r.named(n, k, v, path)
	case Section:
		r.section(n, k.Keys, fill(v), path, r.where(path))
	case List:
		r.list(n, v, path, func(item ast.Node, entry reflect.Value, at string) {
			r.section(item, k.Keys, entry, at, r.places[at])
		})
	case Curve:
		r.list(n, v, path, func(item ast.Node, entry reflect.Value, at string) { r.plain(item, k, entry, at) })
	default:
		r.plain(n, k, v, path)
	}
}

// plain reads a single value.
func (r *Reader) plain(n ast.Node, k *Key, v reflect.Value, path string) {
	if text, ok := r.scalar(n, path); ok {
		r.places[path] = nodePlace(n)
		r.written[path] = text
		r.set(text, n, k, v, path)
	}
}

// fill is what a field holds, or what its pointer is made to point at.
func fill(v reflect.Value) reflect.Value {
	if v.Kind() != reflect.Pointer {
		return v
	}
	v.Set(reflect.New(v.Type().Elem()))
	return v.Elem()
}

// scalar gives the text of a plain or quoted value.
func (r *Reader) scalar(n ast.Node, path string) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.IntegerNode, *ast.FloatNode, *ast.BoolNode, *ast.InfinityNode, *ast.NanNode:
		return n.GetToken().Value, true
	case *ast.LiteralNode:
		return n.Value.Value, true
	}
	if !r.special(n, path) {
		r.failNode(n, path, Quote(show(n))+" stands where a value belongs", "write one value on the same line as the key")
	}
	return "", false
}

// set puts a text into the field of a plain key and checks its range.
func (r *Reader) set(text string, n ast.Node, k *Key, v reflect.Value, path string) {
	value := reflect.New(plain(v.Type())).Elem()
	problem, remedy := k.assign(text, value)
	if problem == "" && k.Dimension == nil {
		problem, remedy = wrongQuotes(text, n, k.Kind)
	}
	if problem != "" {
		r.failNode(n, path, problem, remedy)
		return
	}
	fill(v).Set(value)
}

func isQuoted(n ast.Node) bool {
	_, ok := n.(*ast.StringNode)
	t := n.GetToken().Type
	return ok && (t == token.SingleQuoteType || t == token.DoubleQuoteType)
}

// wrongQuotes refuses a quoted number and an unquoted text that YAML takes for
// something else, so that every reader of the file sees the same.
func wrongQuotes(text string, n ast.Node, kind Kind) (problem, remedy string) {
	isText := false
	switch n.(type) {
	case *ast.StringNode, *ast.LiteralNode:
		isText = true
	}
	switch {
	case kind == Text && !isText:
		return Quote(text) + " is not text to a YAML reader", "put it in quotes"
	case kind != Text && isQuoted(n):
		return Quote(text) + " is quoted", "write the number without quotes"
	}
	return "", ""
}

// list reads a sequence of sections or of plain values.
func (r *Reader) list(n ast.Node, v reflect.Value, path string, read func(item ast.Node, entry reflect.Value, at string)) {
	seq, ok := n.(*ast.SequenceNode)
	if !ok {
		if !r.special(n, path) {
			r.failNode(n, path, Quote(show(n))+" stands where a list belongs", "begin each entry with “- ” on a line below the key")
		}
		return
	}
	if len(seq.Values) == 0 {
		r.failNode(n, path, "the list is empty", "give it at least one entry")
	}
	for i, item := range seq.Values {
		at := fmt.Sprintf("%s[%d]", path, i)
		r.places[at] = nodePlace(item)
		r.inner[path] = append(r.inner[path], at)
		entry := reflect.New(v.Type().Elem()).Elem()
		read(item, entry, at)
		v.Set(reflect.Append(v, entry))
	}
}

// named reads a mapping from names to sections and keeps its order.
func (r *Reader) named(n ast.Node, k *Key, v reflect.Value, path string) {
	entries, ok := r.entries(n, path, nil)
	if !ok {
		return
	}
	one := strings.TrimSuffix(k.Name, "s")
	if len(entries) == 0 {
		r.failNode(n, path, "no "+one+" is named", "name at least one, such as “"+k.Example+":” with its "+k.Keys[0].Name+" below it")
	}
	pairs, _ := r.pairs(n, path)
	for _, p := range pairs {
		name, ok := keyText(p.Key)
		if !ok || entries[name] != p {
			continue
		}
		if !freeName.MatchString(name) {
			r.failNode(p.Key, path, Quote(name)+" cannot name a "+one, "use up to 24 letters, digits, _ and -, a letter first")
			continue
		}
		at := Join(path, name)
		r.places[at] = nodePlace(p.Key)
		r.inner[path] = append(r.inner[path], at)
		entry := reflect.New(v.Type().Elem()).Elem()
		entry.FieldByName("Name").SetString(name)
		r.section(p.Value, k.Keys, entry, at, r.places[at])
		v.Set(reflect.Append(v, entry))
	}
}
