package keyfile

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"govrig/sim/unit"
)

func leaves(keys []*Key, path string, all map[string]*Key) map[string]*Key {
	for _, k := range keys {
		at := Join(path, k.Name)
		switch k.Kind {
		case Named:
			leaves(k.Keys, Join(at, k.Example), all)
		case List:
			leaves(k.Keys, at+"[0]", all)
		case Section:
			leaves(k.Keys, at, all)
		default:
			all[at] = k
		}
	}
	return all
}

// keysOf are the keys of a section's Go type, in order.
func (v Variant) keysOf(t reflect.Type) (all []*Key) {
	for i := range t.NumField() {
		if f := t.Field(i); f.Tag.Get("yaml") != "-" && f.IsExported() {
			all = append(all, v.keyOf(f, i))
		}
	}
	for _, k := range all {
		if other, ok := strings.CutPrefix(k.Default, "="); ok && k.Example == "" {
			k.Example = find(all, other).Example
		}
	}
	return all
}

func (v Variant) keyOf(f reflect.StructField, index int) *Key {
	tag := f.Tag.Get
	_, optional := f.Tag.Lookup("default")
	k := &Key{
		Name: tag("yaml"), About: tag("about"), Low: tag("low"), High: tag("high"), Beyond: tag("beyond"),
		Default: tag("default"), Needed: !optional, set: tag("new") == "set", field: index,
		variant: v, Varied: tag(v.Word), ranged: tag("range"),
	}
	if one := tag("one"); one != "" {
		k.OneOf = strings.Split(one, ",")
	}
	k.shape(plain(f.Type))
	switch k.Kind {
	case Section:
		k.optional = optional
		k.Needed = k.Needed && slices.ContainsFunc(k.Keys, func(sub *Key) bool { return sub.Needed })
		k.lend(tag("example"))
	case List:
	case Named:
		k.Example = tag("example")
	default:
		k.Example = k.example(tag("example"))
		k.low, k.high = k.end(k.Low), k.end(k.High)
	}
	return k
}

// lend gives range and example of a section to those of its keys that ask for it, and
// keeps none for itself.
func (k *Key) lend(example string) {
	for _, sub := range k.Keys {
		if sub.ranged == "" {
			continue
		}
		sub.Low, sub.High, sub.Beyond, sub.Example = k.Low, k.High, k.Beyond, example
		if sub.ranged == "width" {
			sub.Low = "0"
			if sub.Dimension != nil {
				sub.Low = sub.Dimension.Format(0, strings.TrimLeft(k.High, "0123456789. "))
			}
		}
		sub.low, sub.high = sub.end(sub.Low), sub.end(sub.High)
	}
	k.Low, k.High, k.Beyond = "", "", ""
}

// plain is the type behind a pointer.
func plain(t reflect.Type) reflect.Type {
	if t.Kind() == reflect.Pointer {
		return t.Elem()
	}
	return t
}

// shape finds the kind of a key from its Go type.
func (k *Key) shape(t reflect.Type) {
	switch {
	case t.Implements(reflect.TypeFor[unit.Quantity]()):
		k.Kind, k.Dimension = Quantity, reflect.Zero(t).Interface().(unit.Quantity).Dimension()
	case t.Kind() == reflect.Struct:
		k.Kind, k.Keys = Section, k.variant.keysOf(t)
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
		k.Kind, k.Keys = List, k.variant.keysOf(t.Elem())
		if t.Implements(reflect.TypeFor[interface{ ByName() }]()) {
			k.Kind = Named
		}
	case t.Kind() == reflect.Slice:
		k.shape(t.Elem())
		k.Kind = Curve
	case t.Kind() == reflect.Int:
		k.Kind = Whole
	case t.Kind() == reflect.Float64:
		k.Kind = Decimal
	}
}

// example is a value that the key accepts.
func (k *Key) example(given string) string {
	for _, text := range []string{given, k.Default} {
		if text != "" && text[0] != '=' {
			return text
		}
	}
	if k.OneOf != nil {
		return k.OneOf[0]
	}
	return given
}

// end is an end of the range in SI. One that cannot be read is 0, a mistake in
// this package that its tests find: they read them all.
func (k *Key) end(text string) float64 {
	if k.Dimension != nil {
		si, _ := k.Dimension.Parse(text)
		return si
	}
	x, _ := strconv.ParseFloat(text, 64)
	return x
}
