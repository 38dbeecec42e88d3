package machine

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"govrig/sim/machine/unit"
)

var (
	wholeNumber   = regexp.MustCompile(`^(0|-?[1-9][0-9]*)$`)
	decimalNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?$`)
	speedName     = regexp.MustCompile(speedNamePattern)
)

const (
	speedNamePattern = `^[A-Za-z][A-Za-z0-9_-]{0,23}$`
	maxText          = 2000
)

// assign reads text into v, a plain value of the field f, and checks its
// range. It gives what is wrong and what would be right, or two empty texts.
func assign(text string, f reflect.StructField, v reflect.Value) (problem, remedy string) {
	switch {
	case isQuantity(v.Type()):
		return assignQuantity(text, f, v)
	case v.Kind() == reflect.Int:
		return assignWhole(text, f, v)
	case v.Kind() == reflect.Float64:
		return assignDecimal(text, f, v)
	}
	return assignText(text, f, v)
}

func assignQuantity(text string, f reflect.StructField, v reflect.Value) (problem, remedy string) {
	dimension := v.Interface().(unit.Quantity).Dimension()
	si, err := dimension.Parse(text)
	var wrong *unit.Error
	if errors.As(err, &wrong) {
		return quote(text) + " " + wrong.Problem, wrong.Remedy + ", for example " + exampleOf(f)
	}
	if !between(si, rangeEnd(f, v, "low"), rangeEnd(f, v, "high")) {
		return outside(text, f)
	}
	v.SetFloat(si)
	return "", ""
}

func assignWhole(text string, f reflect.StructField, v reflect.Value) (problem, remedy string) {
	n, err := strconv.Atoi(text)
	if err != nil || !wholeNumber.MatchString(text) {
		return quote(text) + " is not a whole number", "write digits only, for example " + exampleOf(f)
	}
	if !between(float64(n), rangeEnd(f, v, "low"), rangeEnd(f, v, "high")) {
		return outside(text, f)
	}
	v.SetInt(int64(n))
	return "", ""
}

func assignDecimal(text string, f reflect.StructField, v reflect.Value) (problem, remedy string) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !decimalNumber.MatchString(text) {
		return quote(text) + " is not a plain number", "write it with a decimal point and without a unit, for example " + exampleOf(f)
	}
	if !between(x, rangeEnd(f, v, "low"), rangeEnd(f, v, "high")) {
		return outside(text, f)
	}
	v.SetFloat(x)
	return "", ""
}

func assignText(text string, f reflect.StructField, v reflect.Value) (problem, remedy string) {
	if words := words(f); words != nil && !slices.Contains(words, text) {
		remedy = "write " + either(words)
		if near := nearest(text, words); near != "" && len(words) > 1 {
			remedy = "did you mean " + quote(near) + "? It is one of " + either(words)
		}
		return quote(text) + " is not known here", remedy
	}
	if strings.TrimSpace(text) == "" {
		return "the text is empty", "write something, for example " + exampleOf(f)
	}
	if len(text) > maxText {
		return "the text is too long", fmt.Sprintf("keep it below %d bytes", maxText)
	}
	v.SetString(text)
	return "", ""
}

func between(x, low, high float64) bool { return x >= low && x <= high }

func outside(text string, f reflect.StructField) (problem, remedy string) {
	low, high := f.Tag.Get("low"), f.Tag.Get("high")
	return quote(text) + " is outside what makes sense here", "it runs from " + low + " to " + high
}

// rangeEnd is the value of a tag that holds an end of the range. A tag that
// cannot be read is a mistake in this package, and its tests read them all.
func rangeEnd(f reflect.StructField, v reflect.Value, tag string) float64 {
	text := f.Tag.Get(tag)
	if q, ok := v.Interface().(unit.Quantity); ok {
		si, err := q.Dimension().Parse(text)
		if err != nil {
			return math.NaN()
		}
		return si
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return math.NaN()
	}
	return x
}
