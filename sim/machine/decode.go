package machine

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
)

// decoder walks the file beside the Go types. It collects faults in place of
// stopping at the first.
type decoder struct {
	file     string
	lines    []string
	faults   Faults
	places   map[string]place // of values by path, and of sections by path
	defaults []string
	cautions []string
}

func (d *decoder) failAt(at place, path, problem, remedy string) {
	f := &Fault{
		File: d.file, Line: at.line, Column: at.column, Text: at.text,
		Path: path, Problem: problem, Remedy: remedy,
	}
	if !at.whole && at.line <= len(d.lines) {
		f.excerpt = excerpt(d.lines[at.line-1], at.line, at.column, utf8.RuneCountInString(at.text))
	}
	d.faults = append(d.faults, f)
}

func (d *decoder) fail(n ast.Node, path, problem, remedy string) {
	d.failAt(nodePlace(n), path, problem, remedy)
}

// failPath reports a fault at the place of a key that has been read.
func (d *decoder) failPath(path, problem, remedy string) {
	d.failAt(d.where(path), path, problem, remedy)
}

// where is the place of a path, or of the nearest section around it.
func (d *decoder) where(path string) place {
	for p := path; p != ""; p = parent(p) {
		if at, ok := d.places[p]; ok {
			return at
		}
	}
	return wholeFile
}

func parent(path string) string {
	return path[:max(0, strings.LastIndexAny(path, ".["))]
}

func join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// section reads a mapping with the given keys into a struct. A nil node is a
// section left out; at is where to report what is missing.
func (d *decoder) section(n ast.Node, keys []*Key, v reflect.Value, path string, at place) {
	entries, ok := d.entries(n, path, names(keys))
	if !ok {
		return
	}
	for _, k := range keys {
		inner := join(path, k.Name)
		e, given := entries[k.Name]
		switch {
		case given && e == nil: // misspelt, and reported as such
			continue
		case !given:
			d.absent(k, keys, v, inner, at)
			continue
		}
		d.places[inner] = nodePlace(e.Key)
		d.value(e.Value, k, v.Field(k.field), inner)
	}
}

// entries reads a mapping and refuses unknown and repeated keys. A nil list of
// names allows any. A key that was most likely meant by an unknown one has a
// nil entry.
func (d *decoder) entries(n ast.Node, path string, names []string) (map[string]*ast.MappingValueNode, bool) {
	if n == nil {
		return nil, true
	}
	pairs, ok := d.pairs(n, path)
	if !ok {
		return nil, false
	}
	found := map[string]*ast.MappingValueNode{}
	for _, p := range pairs {
		key, ok := d.key(p, path)
		if !ok {
			continue
		}
		if first := found[key]; first != nil {
			d.fail(p.Key, path, "a second "+quote(key), fmt.Sprintf("the first stands on line %d; keep one", nodePlace(first.Key).line))
			continue
		}
		if names != nil && !slices.Contains(names, key) {
			if near := d.unknown(p, key, path, names); near != "" && found[near] == nil {
				found[near] = nil
			}
			continue
		}
		found[key] = p
	}
	return found, true
}

// pairs gives the pairs of a mapping, in order.
func (d *decoder) pairs(n ast.Node, path string) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	if !d.special(n, path) {
		remedy := "write its keys on the lines below it, indented"
		if path == "" {
			remedy = wantMapping
		}
		d.fail(n, path, quote(show(n))+" stands where a section with keys belongs", remedy)
	}
	return nil, false
}

func (d *decoder) key(p *ast.MappingValueNode, path string) (string, bool) {
	if key, ok := keyText(p.Key); ok {
		return key, true
	}
	d.fail(p.Key, path, quote(show(p.Key))+" cannot be a key", "a key is a word, without anchors, tags or question marks")
	return "", false
}

// unknown refuses a key and gives the one that was most likely meant, or "".
func (d *decoder) unknown(p *ast.MappingValueNode, key, path string, names []string) string {
	remedy := "the keys here are " + either(names)
	near := nearest(key, names)
	if near != "" {
		remedy = "did you mean " + quote(near) + "?"
	} else if key != "" && strings.ContainsRune("0123456789", rune(key[0])) {
		remedy = "a decimal comma? Write a decimal point"
	}
	d.fail(p.Key, path, "unknown key "+quote(key), remedy)
	return near
}

// special refuses, with their names, the parts of YAML that the file does not
// use.
func (d *decoder) special(n ast.Node, path string) bool {
	what := ""
	switch n.(type) {
	case *ast.NullNode:
		d.failPath(path, "no value", "write one, or leave the key out if it is optional")
		return true
	case *ast.AnchorNode:
		what = "an anchor"
	case *ast.AliasNode:
		what = "an alias"
	case *ast.TagNode:
		what = "a tag"
	default:
		return false
	}
	d.fail(n, path, what+" is not used here", "write the value itself")
	return true
}

// show gives the text of a node as far as it stands on one line.
func show(n ast.Node) string {
	switch n := n.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return "a section"
	case *ast.SequenceNode:
		return "a list"
	default:
		return n.GetToken().Value
	}
}
