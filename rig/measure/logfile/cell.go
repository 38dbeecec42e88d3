package logfile

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// split cuts a line into its fields, without quotes and the space around. Fields
// are apart by a byte; by a space, any number of them.
func split(line string, separator byte) ([]string, error) {
	if separator == ' ' {
		return strings.Fields(line), nil
	}
	var fields []string
	for {
		if line = strings.TrimLeft(line, " "); strings.HasPrefix(line, `"`) {
			field, rest, ok := quoted(line)
			if rest = strings.TrimLeft(rest, " "); !ok || rest != "" && rest[0] != separator {
				return nil, errors.New("a quote is not closed")
			}
			if fields = append(fields, strings.TrimSpace(field)); rest == "" {
				return fields, nil
			}
			line = rest[1:]
			continue
		}
		field, rest, more := strings.Cut(line, string(separator))
		if fields = append(fields, strings.TrimSpace(field)); !more {
			return fields, nil
		}
		line = rest
	}
}

// quoted takes a field in quotes off the front of a line (RFC 4180).
func quoted(line string) (field, rest string, ok bool) {
	for i := 1; i < len(line); i++ {
		if line[i] != '"' {
			continue
		}
		if i+1 < len(line) && line[i+1] == '"' {
			i++
			continue
		}
		return strings.ReplaceAll(line[1:i], `""`, `"`), line[i+1:], true
	}
	return "", "", false
}

// missing reports whether a field says that there is no value.
func missing(field string) bool {
	switch strings.ToLower(field) {
	case "", "nan", "n/a", "na", "null", "none", "-", "--", "---", "?":
		return true
	}
	return false
}

// number reads a field; a missing value is NaN. unit is what stands behind the
// number, and comma whether a decimal comma was read.
func number(field string, separator byte) (x float64, unit string, comma bool, err error) {
	if missing(field) {
		return math.NaN(), "", false, nil
	}
	digits := strings.TrimRight(field, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZµμ%°/³⁻¹ ")
	unit = strings.TrimSpace(field[len(digits):])
	if digits == "" || unit != "" && !isUnit(unit) {
		digits, unit = field, ""
	}
	digits = ungrouped(strings.TrimSpace(digits))
	if i := strings.IndexByte(digits, ','); i >= 0 {
		if err := decimal(digits, i, separator); err != nil {
			return 0, "", false, err
		}
		digits, comma = strings.Replace(digits, ",", ".", 1), true
	}
	x, err = strconv.ParseFloat(digits, 64)
	switch {
	case errors.Is(err, strconv.ErrRange), math.IsInf(x, 0):
		return 0, "", false, fmt.Errorf("%q is out of range", field)
	case err != nil || strings.ContainsAny(digits, "xXpP_"):
		return 0, "", false, fmt.Errorf("%q is no number", field)
	}
	return x, unit, comma, nil
}

// ungrouped takes out what stands between thousands: a space or an apostrophe.
func ungrouped(digits string) string {
	for _, mark := range []string{" ", "\u00a0", "\u202f", "'", "’"} {
		parts := strings.Split(digits, mark)
		if len(parts) < 2 {
			continue
		}
		whole := true
		for i, p := range parts[1:] {
			p, _, _ = strings.Cut(p, ".")
			if i == len(parts)-2 {
				p, _, _ = strings.Cut(p, ",")
			}
			whole = whole && len(p) == 3
		}
		if whole {
			return strings.Join(parts, "")
		}
	}
	return digits
}

// decimal refuses the comma at i where it cannot be told for a decimal comma.
func decimal(field string, i int, separator byte) error {
	if strings.ContainsAny(field[i+1:], ",") || strings.ContainsAny(field, ".") {
		return fmt.Errorf("%q: write numbers without a separator of thousands", field)
	}
	if separator == ',' && len(field)-i == 4 && field[0] != '0' && field[0] != '-' {
		return fmt.Errorf("%q: is the comma one of thousands or of decimals? write a point, or no separator", field)
	}
	return nil
}
