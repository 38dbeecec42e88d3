package machine

import (
	"encoding/json"
	"reflect"

	"github.com/invopop/jsonschema"

	"govrig/sim/machine/unit"
)

// Schema is the JSON Schema (draft 2020-12) of the machine file, made from the
// same types and tags as the parser, so that editors can complete and check a
// file. What the parser accepts, the schema accepts. The schema is wider where
// values are held against a range or against each other.
func Schema() *jsonschema.Schema {
	reflector := jsonschema.Reflector{
		Anonymous:      true,
		ExpandedStruct: true,
		FieldNameTag:   "yaml",
		Mapper:         quantitySchema,
	}
	s := reflector.ReflectFromType(reflect.TypeFor[Machine]())
	s.Title = "govrig machine file"
	describe(s, reflect.TypeFor[Machine](), s.Definitions)
	return s
}

// quantitySchema is the schema of a quantity: a text with a number and a unit.
func quantitySchema(t reflect.Type) *jsonschema.Schema {
	q, ok := reflect.Zero(t).Interface().(unit.Quantity)
	if !ok {
		return nil
	}
	return &jsonschema.Schema{Type: "string", Pattern: q.Dimension().Pattern()}
}

// describe adds to the schema of a section what the tags tell.
func describe(s *jsonschema.Schema, t reflect.Type, all jsonschema.Definitions) {
	s.Required = nil
	for i := range t.NumField() {
		f := t.Field(i)
		key := keyOf(f)
		if key == "" {
			continue
		}
		if needed(f) {
			s.Required = append(s.Required, key)
		}
		p, _ := s.Properties.Get(key)
		switch {
		case f.Type == speedsType:
			p = namedSpeeds(all["Speeds"])
			delete(all, "Speeds")
			s.Properties.Set(key, p)
			describe(all["SpeedSetting"], f.Type.Elem(), all)
		case f.Type.Kind() == reflect.Slice:
			p.MinItems = one()
			describe(all[f.Type.Elem().Name()], f.Type.Elem(), all)
		case f.Type.Kind() == reflect.Struct:
			describe(all[f.Type.Name()], f.Type, all)
		default:
			describeValue(p, f)
		}
		p.Description = f.Tag.Get("about")
		if low := f.Tag.Get("low"); low != "" {
			p.Description += " From " + low + " to " + f.Tag.Get("high") + "."
		}
	}
}

// namedSpeeds turns the list of speeds into the mapping that the file has.
func namedSpeeds(list *jsonschema.Schema) *jsonschema.Schema {
	return &jsonschema.Schema{
		Type:                 "object",
		PatternProperties:    map[string]*jsonschema.Schema{speedNamePattern: list.Items},
		AdditionalProperties: jsonschema.FalseSchema,
		MinProperties:        one(),
	}
}

func describeValue(p *jsonschema.Schema, f reflect.StructField) {
	for _, word := range words(f) {
		p.Enum = append(p.Enum, word)
	}
	number := p.Type == "integer" || p.Type == "number"
	if number {
		p.Minimum, p.Maximum = json.Number(f.Tag.Get("low")), json.Number(f.Tag.Get("high"))
	}
	if p.Type == "string" && p.Pattern == "" && p.Enum == nil {
		p.Pattern = `\S`
	}
	example := func(text string) any {
		if number {
			return json.Number(text)
		}
		return text
	}
	if text := f.Tag.Get("default"); text != "" && text != "-" && text[0] != '=' {
		p.Default = example(text)
	} else if text := exampleOf(f); p.Enum == nil && text != "" {
		p.Examples = []any{example(text)}
	}
}

func one() *uint64 { n := uint64(1); return &n }
