package keyfile

import (
	"bytes"
	"encoding/json"
)

// Schema is the JSON Schema (draft 2020-12) of the kind of file, made from its
// keys, so that editors can complete and check a file. What the reader accepts,
// the schema accepts. The schema is wider where quantities are held against a
// range and values against each other.
func (f *File) Schema() any {
	s := object(f.Keys)
	s.Draft, s.Title = "https://json-schema.org/draft/2020-12/schema", "govrig "+f.Noun+" file"
	return s
}

// node is a schema, with the words of draft 2020-12 that are used here.
type node struct {
	Draft       string      `json:"$schema,omitempty"`
	Title       string      `json:"title,omitempty"`
	Type        string      `json:"type"`
	Description string      `json:"description,omitempty"`
	Pattern     string      `json:"pattern,omitempty"`
	Enum        []string    `json:"enum,omitempty"`
	Minimum     json.Number `json:"minimum,omitempty"`
	Maximum     json.Number `json:"maximum,omitempty"`
	Default     any         `json:"default,omitempty"`
	Examples    []any       `json:"examples,omitempty"`
	Items       *node       `json:"items,omitempty"`
	MinItems    int         `json:"minItems,omitempty"`
	Properties  properties  `json:"properties,omitempty"`
	Patterns    properties  `json:"patternProperties,omitempty"`
	MinEntries  int         `json:"minProperties,omitempty"`
	Additional  *bool       `json:"additionalProperties,omitempty"`
	Required    []string    `json:"required,omitempty"`
}

// properties are schemas by name, written in their order.
type properties []property

type property struct {
	name string
	node *node
}

// MarshalJSON writes an object.
func (p properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, each := range p {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(each.name)
		if err != nil {
			return nil, err
		}
		schema, err := json.Marshal(each.node)
		if err != nil {
			return nil, err
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(schema)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// object is the schema of a section.
func object(keys []*Key) *node {
	s := &node{Type: "object", Additional: new(bool)}
	for _, k := range keys {
		s.Properties = append(s.Properties, property{k.Name, k.schema()})
		if k.Needed {
			s.Required = append(s.Required, k.Name)
		}
	}
	return s
}

// schema is that of a key's value.
func (k *Key) schema() *node {
	var s *node
	switch k.Kind {
	case Section:
		s = object(k.Keys)
	case List:
		s = &node{Type: "array", Items: object(k.Keys), MinItems: 1}
	case Named:
		s = &node{Type: "object", Patterns: properties{{freeNamePattern, object(k.Keys)}}, MinEntries: 1, Additional: new(bool)}
	case Curve:
		s = &node{Type: "array", Items: &node{Type: "string", Pattern: k.Dimension.Pattern()}, MinItems: 1}
	default:
		s = k.plainSchema()
	}
	s.Description = k.Remark()
	if k.Low != "" {
		s.Description += " From " + k.Low + " to " + k.High + "."
	}
	return s
}

// plainSchema is that of a single value.
func (k *Key) plainSchema() *node {
	s := &node{Type: "string", Enum: k.OneOf}
	written := func(text string) any { return text }
	switch {
	case k.Kind == Whole || k.Kind == Decimal:
		s.Type = "number"
		if k.Kind == Whole {
			s.Type = "integer"
		}
		s.Minimum, s.Maximum = json.Number(k.Low), json.Number(k.High)
		written = func(text string) any { return json.Number(text) }
	case k.Kind == Quantity:
		s.Pattern = k.Dimension.Pattern()
	case k.OneOf == nil:
		s.Pattern = `\S`
	}
	switch {
	case k.Default != "" && k.Default[0] != '=':
		s.Default = written(k.Default)
	case k.OneOf == nil:
		s.Examples = []any{written(k.Example)}
	}
	return s
}
