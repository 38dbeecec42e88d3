package main

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"go/types"
	"reflect"
	"strconv"
	"strings"
)

// schema is what messages.go and limits.go declare.
type schema struct {
	consts   []constGroup
	items    []*record // parts of lists
	messages []*record
}

// constGroup is a const block whose values the firmware shares.
type constGroup struct {
	prefix, doc string
	values      []constValue
}

type constValue struct {
	name, doc string
	value     uint64
}

// record is a struct with a byte layout.
type record struct {
	name, doc string
	id        uint8  // messages only
	sender    string // host or board; messages only
	fields    []field
	list      *list
}

type field struct {
	name, doc string
	bytes     int
}

// list is the repeated tail of a message.
type list struct {
	name, doc string
	item      *record
	max       uint64
	maxName   string
}

// size is the number of bytes of the fixed part, without the id.
func (r *record) size() int {
	n := 0
	for _, f := range r.fields {
		n += f.bytes
	}
	return n
}

var widths = map[string]int{"u8": 1, "u16": 2, "u24": 3, "u32": 4}

// parseSchema reads the declarations of files, in their order.
func parseSchema(paths ...string) (*schema, error) {
	s := &schema{}
	for _, path := range paths {
		if err := s.addFile(path); err != nil {
			return nil, err
		}
	}
	return s, s.check()
}

func (s *schema) addFile(path string) error {
	fset := token.NewFileSet()
	file, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
	if err != nil {
		return err
	}
	for _, decl := range file.Decls {
		gen, ok := decl.(*ast.GenDecl)
		if !ok {
			continue
		}
		if err := s.add(gen); err != nil {
			return fmt.Errorf("%s: %w", fset.Position(gen.Pos()), err)
		}
	}
	return nil
}

func (s *schema) add(gen *ast.GenDecl) error {
	directive, args := wireDirective(gen.Doc)
	switch directive {
	case "":
		return nil
	case "const":
		if len(args) != 1 {
			return fmt.Errorf("wire:const wants a prefix")
		}
		return s.addConsts(gen, args[0])
	case "item":
		r, err := s.record(gen)
		if err == nil {
			s.items = append(s.items, r)
		}
		return err
	case "message":
		return s.addMessage(gen, args)
	}
	return fmt.Errorf("unknown directive wire:%s", directive)
}

func (s *schema) addMessage(gen *ast.GenDecl, args []string) error {
	if len(args) != 2 || (args[1] != "host" && args[1] != "board") {
		return fmt.Errorf("wire:message wants an id and host or board")
	}
	id, err := strconv.ParseUint(args[0], 0, 8)
	if err != nil {
		return err
	}
	r, err := s.record(gen)
	if err != nil {
		return err
	}
	r.id, r.sender = uint8(id), args[1]
	s.messages = append(s.messages, r)
	return nil
}

func (s *schema) addConsts(gen *ast.GenDecl, prefix string) error {
	group := constGroup{prefix: prefix, doc: text(gen.Doc)}
	for _, spec := range gen.Specs {
		v := spec.(*ast.ValueSpec)
		if len(v.Names) != 1 || len(v.Values) != 1 {
			return fmt.Errorf("one name and one value a line")
		}
		value, err := types.Eval(token.NewFileSet(), nil, token.NoPos, types.ExprString(v.Values[0]))
		if err != nil {
			return err
		}
		n, ok := constant.Uint64Val(value.Value)
		if !ok {
			return fmt.Errorf("%s is not a whole number", v.Names[0].Name)
		}
		group.values = append(group.values, constValue{v.Names[0].Name, text(v.Doc), n})
	}
	s.consts = append(s.consts, group)
	return nil
}

func (s *schema) record(gen *ast.GenDecl) (*record, error) {
	spec := gen.Specs[0].(*ast.TypeSpec)
	structure, ok := spec.Type.(*ast.StructType)
	if !ok {
		return nil, fmt.Errorf("%s is not a struct", spec.Name.Name)
	}
	r := &record{name: spec.Name.Name, doc: text(gen.Doc)}
	doc := ""
	for _, f := range structure.Fields.List {
		if d := text(f.Doc); d != "" {
			doc = d
		}
		if err := s.addField(r, f, doc); err != nil {
			return nil, fmt.Errorf("%s.%s: %w", r.name, f.Names[0].Name, err)
		}
	}
	return r, nil
}

func (s *schema) addField(r *record, f *ast.Field, doc string) error {
	name := f.Names[0].Name
	if f.Tag == nil {
		if r.list != nil && name == r.list.name+"Len" {
			return nil
		}
		return fmt.Errorf("no wire tag")
	}
	if r.list != nil {
		return fmt.Errorf("a list must be the last field")
	}
	tag := reflect.StructTag(strings.Trim(f.Tag.Value, "`")).Get("wire")
	if tag == "list" {
		return s.addList(r, f, doc)
	}
	bytes, ok := widths[tag]
	if !ok {
		return fmt.Errorf("unknown width %q", tag)
	}
	if want := "uint" + strconv.Itoa(goBits(bytes)); types.ExprString(f.Type) != want {
		return fmt.Errorf("%s needs the type %s", tag, want)
	}
	r.fields = append(r.fields, field{name, doc, bytes})
	return nil
}

func (s *schema) addList(r *record, f *ast.Field, doc string) error {
	array, ok := f.Type.(*ast.ArrayType)
	if !ok || array.Len == nil {
		return fmt.Errorf("a list needs an array type")
	}
	l := &list{name: f.Names[0].Name, doc: doc, maxName: types.ExprString(array.Len)}
	for _, group := range s.consts {
		for _, v := range group.values {
			if v.name == l.maxName {
				l.max = v.value
			}
		}
	}
	for _, item := range s.items {
		if item.name == types.ExprString(array.Elt) {
			l.item = item
		}
	}
	if l.max == 0 {
		return fmt.Errorf("unknown constant %s", l.maxName)
	}
	if l.item == nil {
		l.item = &record{name: types.ExprString(array.Elt)} // declared later; see check
	}
	r.list = l
	return nil
}

// check binds items that were declared after their use and refuses ids that
// are used twice.
func (s *schema) check() error {
	ids := map[uint8]string{}
	for _, m := range s.messages {
		if other, taken := ids[m.id]; taken {
			return fmt.Errorf("%s and %s have the same id", other, m.name)
		}
		ids[m.id] = m.name
		if m.list == nil {
			continue
		}
		if m.list.item = s.item(m.list.item.name); m.list.item == nil {
			return fmt.Errorf("%s: its list's item has no wire:item", m.name)
		}
	}
	return nil
}

func (s *schema) item(name string) *record {
	for _, item := range s.items {
		if item.name == name {
			return item
		}
	}
	return nil
}

// wireDirective finds the //wire: line of a comment.
func wireDirective(doc *ast.CommentGroup) (string, []string) {
	if doc == nil {
		return "", nil
	}
	for _, c := range doc.List {
		if rest, ok := strings.CutPrefix(c.Text, "//wire:"); ok {
			words := strings.Fields(rest)
			return words[0], words[1:]
		}
	}
	return "", nil
}

// text is a comment as one line.
func text(doc *ast.CommentGroup) string {
	if doc == nil {
		return ""
	}
	return strings.Join(strings.Fields(doc.Text()), " ")
}

func goBits(bytes int) int {
	if bytes == 3 {
		return 32
	}
	return 8 * bytes
}
