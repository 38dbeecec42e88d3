package keyfile

import (
	"errors"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"govrig/protocol/harmless"
	"govrig/sim/unit"
)

var (
	wholeNumber   = regexp.MustCompile(`^(0|-?[1-9][0-9]*)$`)
	decimalNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?$`)
	point         = regexp.MustCompile(`^[0-9]{1,3}\.[0-9]{3}\b`)
	freeName      = regexp.MustCompile(freeNamePattern)
)

const (
	freeNamePattern = `^[A-Za-z][A-Za-z0-9_-]{0,23}$`
	maxText         = 2000
)

// assign reads text into v, a plain value of the key, and checks its range. It
// gives what is wrong and what would be right, or two empty texts.
func (k *Key) assign(text string, v reflect.Value) (problem, remedy string) {
	if k.Kind == Text {
		return k.assignText(text, v)
	}
	x, problem, remedy := k.Number(text)
	switch {
	case problem != "":
	case !(x >= k.low && x <= k.high):
		return k.outside(text, x)
	case k.Kind == Whole:
		v.SetInt(int64(x))
	default:
		v.SetFloat(x)
	}
	return problem, remedy
}

// Check reads the text of a plain value and gives what is wrong with it and what
// would be right, or two empty texts.
func (k *Key) Check(text string) (problem, remedy string) {
	scratch := reflect.New(reflect.TypeFor[float64]()).Elem()
	switch k.Kind {
	case Text:
		scratch = reflect.New(reflect.TypeFor[string]()).Elem()
	case Whole:
		scratch = reflect.New(reflect.TypeFor[int]()).Elem()
	}
	return k.assign(text, scratch)
}

// Number reads the number of a text, in SI.
func (k *Key) Number(text string) (x float64, problem, remedy string) {
	switch k.Kind {
	case Whole:
		n, err := strconv.Atoi(text)
		if err != nil || !wholeNumber.MatchString(text) {
			return 0, Quote(text) + " is not a whole number", "write digits only, for example " + k.Example
		}
		return float64(n), "", ""
	case Decimal:
		x, err := strconv.ParseFloat(text, 64)
		if err != nil || !decimalNumber.MatchString(text) {
			return 0, Quote(text) + " is not a plain number", "write it with a decimal point and without a unit, for example " + k.Example
		}
		return x, "", ""
	}
	x, err := k.Dimension.Parse(text)
	var wrong *unit.Error
	if errors.As(err, &wrong) {
		return 0, Quote(text) + " " + wrong.Problem, wrong.Remedy + ", for example " + k.Example
	}
	return x, "", ""
}

func (k *Key) assignText(text string, v reflect.Value) (problem, remedy string) {
	if k.OneOf != nil && !slices.Contains(k.OneOf, text) {
		remedy = "write " + either(k.OneOf)
		if near := Nearest(text, k.OneOf); near != "" && len(k.OneOf) > 1 {
			remedy = "did you mean " + Quote(near) + "? It is one of " + either(k.OneOf)
		}
		return Quote(text) + " is not known here", remedy
	}
	if strings.TrimSpace(text) == "" {
		return "the text is empty", "write something, for example " + k.Example
	}
	if len(text) > maxText {
		return "the text is too long", fmt.Sprintf("keep it below %d bytes", maxText)
	}
	v.SetString(harmless.Line(strings.TrimSpace(text)))
	return "", ""
}

func (k *Key) outside(text string, x float64) (problem, remedy string) {
	remedy = "it runs from " + k.Low + " to " + k.High
	if point.MatchString(text) && 1000*x >= k.low && 1000*x <= k.high {
		remedy += "; leave the point out if it stands between thousands"
	}
	if x > k.high && k.Beyond != "" {
		remedy += "; " + k.Beyond
	}
	return Quote(text) + " is outside what makes sense here", remedy
}
