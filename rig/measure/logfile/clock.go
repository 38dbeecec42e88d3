package logfile

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// clocked is h:mm:ss or mm:ss, perhaps with decimals, and perhaps behind a date.
var clocked = regexp.MustCompile(`^(?:(\S*?\d)[T ]+)?(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:[.,]\d+)?)\s*(Z|[+-]\d\d:?\d\d)?$`)

// dates are the ways to write a day: ISO 8601, and day first with points.
var dates = []string{"2006-01-02", "2006/01/02", "2006.01.02", "02.01.2006", "2.1.2006", "02.01.06", "20060102"}

// clock reads a time of day, a running time or a date with a time, in s; dated
// tells whether a date was there.
func clock(field string) (seconds float64, dated, ok bool) {
	if !strings.Contains(field, ":") {
		return 0, false, false
	}
	part := clocked.FindStringSubmatch(field)
	if part == nil {
		return 0, false, false
	}
	s, err := strconv.ParseFloat(strings.Replace(part[4], ",", ".", 1), 64)
	if err != nil || s >= 60 {
		return 0, false, false
	}
	minutes, _ := strconv.ParseFloat(part[3], 64)
	hours, _ := strconv.ParseFloat("0"+part[2], 64)
	seconds = s + 60*minutes + 3600*hours
	if part[1] == "" {
		return seconds, false, true
	}
	day, ok := date(part[1])
	return seconds + day, true, ok
}

// date reads a day, in s since 1970.
func date(field string) (float64, bool) {
	if len(field) < len("1.1.26") || len(field) > len("2006-01-02") {
		return 0, false
	}
	for _, layout := range dates {
		if t, err := time.Parse(layout, field); err == nil {
			return float64(t.Unix()), true
		}
	}
	return 0, false
}

// isValue reports whether a field can be the value of a sample rather than
// a name.
func isValue(field string, separator byte) bool {
	if _, _, ok := clock(field); ok {
		return true
	}
	if _, ok := date(field); ok {
		return true
	}
	_, _, _, err := number(field, separator)
	return err == nil || strings.Contains(err.Error(), "out of range")
}

// a day, over which a time of day begins again, s.
const day = 86400

// overMidnight adds a day where a time of day begins again.
func overMidnight(times []float64) {
	add := 0.0
	for i := range times {
		if math.IsNaN(times[i]) {
			continue
		}
		times[i] += add
		if i > 0 && times[i] < times[i-1]-day/2 {
			add += day
			times[i] += day
		}
	}
}
