package keyfile

import (
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// Values are all values of a section by path, as a file writes them: those that a
// file gives, and what is assumed for the others. Optional keys without a value are
// left out. v is the Go struct of the keys.
func Values(keys []*Key, v any) map[string]string {
	all := map[string]string{}
	valuesOf(keys, reflect.Indirect(reflect.ValueOf(v)), "", all)
	return all
}

// valuesOf adds the values of a section's keys.
func valuesOf(keys []*Key, section reflect.Value, path string, all map[string]string) {
	for _, k := range keys {
		v, at := section.Field(k.field), Join(path, k.Name)
		if k.leftOut(v) {
			continue
		}
		if v.Kind() == reflect.Pointer {
			v = v.Elem()
		}
		switch k.Kind {
		case Section:
			valuesOf(k.Keys, v, at, all)
		case List:
			for i := range v.Len() {
				valuesOf(k.Keys, v.Index(i), fmt.Sprintf("%s[%d]", at, i), all)
			}
		case Named:
			for i := range v.Len() {
				valuesOf(k.Keys, v.Index(i), Join(at, v.Index(i).FieldByName("Name").String()), all)
			}
		default:
			all[at] = k.text(v)
		}
	}
}

// leftOut reports whether the field of an optional key stays without a value.
func (k *Key) leftOut(v reflect.Value) bool {
	return !k.Needed && k.Default == "" && k.Kind <= Curve && v.IsZero() || v.Kind() == reflect.Pointer && v.IsNil()
}

// text writes a value as a file does.
func (k *Key) text(v reflect.Value) string {
	switch k.Kind {
	case Text:
		return v.String()
	case Whole:
		return strconv.FormatInt(v.Int(), 10)
	case Decimal:
		return strconv.FormatFloat(v.Float(), 'g', -1, 64)
	case Curve:
		points := make([]string, v.Len())
		for i := range points {
			points[i] = k.quantity(v.Index(i))
		}
		return "[" + strings.Join(points, ", ") + "]"
	}
	return k.quantity(v)
}

// quantity writes a quantity in the unit of the key's example.
func (k *Key) quantity(v reflect.Value) string {
	return k.Dimension.Format(v.Float(), k.Symbol())
}

// Symbol is the unit of the example.
func (k *Key) Symbol() string { return strings.TrimLeft(k.Example, "-0123456789. ") }
