package keyfile

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
)

// Reader reads a file beside its Go type. It collects faults in place of
// stopping at the first.
type Reader struct {
	kind     *File
	file     string
	lines    []string
	faults   Faults
	places   map[string]place    // of values by path, and of sections by path
	written  map[string]string   // values by path, as they stand
	inner    map[string][]string // paths of the entries of lists and named sections
	defaults []string
	cautions []string
}

func (r *Reader) failAt(at place, path, problem, remedy string) {
	f := &Fault{
		File: r.file, Line: at.line, Column: at.column, Text: at.text,
		Path: path, Problem: problem, Remedy: remedy,
	}
	if !at.whole && at.line <= len(r.lines) {
		f.excerpt = excerpt(r.lines[at.line-1], at.line, at.column, utf8.RuneCountInString(at.text))
	}
	r.faults = append(r.faults, f)
}

func (r *Reader) failNode(n ast.Node, path, problem, remedy string) {
	r.failAt(nodePlace(n), path, problem, remedy)
}

// Fail reports a fault at the place of a key that has been read, or of the
// nearest section around it: what is wrong, and what would be right.
func (r *Reader) Fail(path, problem, remedy string) {
	r.failAt(r.where(path), path, problem, remedy)
}

// Caution makes a remark on a key that does not stand in the way of a run.
func (r *Reader) Caution(path, text string) {
	at := r.where(path)
	r.cautions = append(r.cautions, fmt.Sprintf("%s:%d:%d: %s: %s", r.file, at.line, at.column, path, text))
}

// Assume tells what was assumed for a key left out, where no default says it.
func (r *Reader) Assume(path, text string) { r.defaults = append(r.defaults, path+": "+text) }

// Faults is how many faults have been found.
func (r *Reader) Faults() int { return len(r.faults) }

// Line is the line of a key, or tells that it was left out.
func (r *Reader) Line(path string) string {
	if at, ok := r.places[path]; ok {
		return fmt.Sprint(at.line)
	}
	return "– (left out, its default is used)"
}

// Close gives what was assumed for keys left out ("air.humidity: 50 %") and the
// cautions, each with its place, or the Faults in the order of their places.
func (r *Reader) Close() (defaults, cautions []string, err error) {
	if len(r.faults) > 0 {
		r.faults.sort()
		return nil, nil, r.faults
	}
	return r.defaults, r.cautions, nil
}

// where is the place of a path, or of the nearest section around it.
func (r *Reader) where(path string) place {
	for p := path; p != ""; p = parent(p) {
		if at, ok := r.places[p]; ok {
			return at
		}
	}
	return wholeFile
}

func parent(path string) string {
	return path[:max(0, strings.LastIndexAny(path, ".["))]
}

func Join(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// section reads a mapping with the given keys into a struct. A nil node is a
// section left out; at is where to report what is missing.
func (r *Reader) section(n ast.Node, keys []*Key, v reflect.Value, path string, at place) {
	entries, ok := r.entries(n, path, names(keys))
	if !ok {
		return
	}
	for _, k := range keys {
		inner := Join(path, k.Name)
		e, given := entries[k.Name]
		switch {
		case given && e == nil: // misspelt, and reported as such
			continue
		case !given:
			r.absent(k, keys, v, inner, at)
			continue
		}
		r.places[inner] = nodePlace(e.Key)
		r.value(e.Value, k, v.Field(k.field), inner)
	}
}

// entries reads a mapping and refuses unknown and repeated keys. A nil list of
// names allows any. A key that was most likely meant by an unknown one has a
// nil entry.
func (r *Reader) entries(n ast.Node, path string, names []string) (map[string]*ast.MappingValueNode, bool) {
	if n == nil {
		return nil, true
	}
	pairs, ok := r.pairs(n, path)
	if !ok {
		return nil, false
	}
	found := map[string]*ast.MappingValueNode{}
	for _, p := range pairs {
		key, ok := r.key(p, path)
		if !ok {
			continue
		}
		if first := found[key]; first != nil {
			r.failNode(p.Key, path, "a second "+Quote(key), fmt.Sprintf("the first stands on line %d; keep one", nodePlace(first.Key).line))
			continue
		}
		if names != nil && !slices.Contains(names, key) {
			if near := r.unknown(p, key, path, names); near != "" && found[near] == nil {
				found[near] = nil
			}
			continue
		}
		found[key] = p
	}
	return found, true
}

// pairs gives the pairs of a mapping, in order.
func (r *Reader) pairs(n ast.Node, path string) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	if !r.special(n, path) {
		remedy := "write its keys on the lines below it, indented"
		if path == "" {
			remedy = r.wantMapping()
		}
		r.failNode(n, path, Quote(show(n))+" stands where a section with keys belongs", remedy)
	}
	return nil, false
}

func (r *Reader) key(p *ast.MappingValueNode, path string) (string, bool) {
	if key, ok := keyText(p.Key); ok {
		return key, true
	}
	r.failNode(p.Key, path, Quote(show(p.Key))+" cannot be a key", "a key is a word, without anchors, tags or question marks")
	return "", false
}

// unknown refuses a key and gives the one that was most likely meant, or "".
func (r *Reader) unknown(p *ast.MappingValueNode, key, path string, names []string) string {
	remedy := "the keys here are " + either(names)
	near := Nearest(key, names)
	if near != "" {
		remedy = "did you mean " + Quote(near) + "?"
	} else if key != "" && strings.ContainsRune("0123456789", rune(key[0])) {
		remedy = "a decimal comma? Write a decimal point"
	}
	r.failNode(p.Key, path, "unknown key "+Quote(key), remedy)
	return near
}

// special refuses, with their names, the parts of YAML that the file does not
// use.
func (r *Reader) special(n ast.Node, path string) bool {
	what := ""
	switch n.(type) {
	case *ast.NullNode:
		r.Fail(path, "no value", "write one, or leave the key out if it is optional")
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
	r.failNode(n, path, what+" is not used here", "write the value itself")
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
