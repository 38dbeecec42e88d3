package table

import (
	"fmt"
	"strings"
)

// The quantities that a log may hold, by their own names.
const (
	Time     = "time_s"
	Speed    = "speed_rpm"
	Throttle = "throttle_us"
	Load     = "load"
)

// quantities in the order in which they are kept in a row.
var quantities = []string{Time, Speed, Throttle, Load}

// Columns gives the name of a quantity's column in the file, where it is
// another than the quantity's own.
type Columns map[string]string

// ParseColumn reads "speed_rpm=Engine RPM".
func (c Columns) ParseColumn(text string) error {
	quantity, name, ok := strings.Cut(text, "=")
	name = strings.TrimSpace(name)
	if !ok || name == "" || !known(quantity) {
		return fmt.Errorf("a column is given as %s=NAME, %s=NAME, %s=NAME or %s=NAME, not %q",
			Time, Speed, Throttle, Load, text)
	}
	if _, twice := c[quantity]; twice {
		return fmt.Errorf("the column for %s is given twice", quantity)
	}
	c[quantity] = name
	return nil
}

func known(quantity string) bool {
	for _, q := range quantities {
		if q == quantity {
			return true
		}
	}
	return false
}

// places finds the columns in a header: the index of each quantity, or −1.
func (c Columns) places(header []string) ([4]int, error) {
	var at [4]int
	for i, q := range quantities {
		name, chosen := c[q]
		if !chosen {
			name = q
		}
		at[i] = -1
		for j, h := range header {
			if h != name {
				continue
			}
			if at[i] >= 0 {
				return at, fmt.Errorf("two columns are called %q", name)
			}
			at[i] = j
		}
		if at[i] < 0 && (chosen || q == Time || q == Speed) {
			return at, fmt.Errorf("no column %q; there are: %s; say --column %s=NAME",
				name, strings.Join(header, ", "), q)
		}
	}
	return at, nil
}
