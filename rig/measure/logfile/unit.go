package logfile

import (
	"math"
	"strings"
)

// quantity is what a column holds.
type quantity int

const (
	other quantity = iota
	moment
	speed
	throttle
	load
)

// factor turns a unit into the reader's own: s, rpm, µs.
type factor struct {
	of    quantity
	name  string // as it is shown
	times float64
}

// units by their spellings, lower case. µs and ms serve time and throttle alike.
var units = spelt()

func spelt() map[string]factor {
	all := map[string]factor{}
	for _, u := range []struct {
		of        quantity
		name      string
		times     float64
		spellings string
	}{
		{moment, "s", 1, "s sec secs second seconds sek sekunden"},
		{moment, "ms", 1e-3, "ms msec millis milliseconds"},
		{moment, "µs", 1e-6, "us µs μs usec micros microseconds"},
		{moment, "min", 60, "min minutes"},
		{moment, "h", 3600, "h hours"},
		{speed, "rpm", 1, "rpm r/min rev/min revs/min u/min upm 1/min /min min-1 min^-1 min⁻¹ 1/minute"},
		{speed, "krpm", 1000, "krpm kilorpm rpm*1000 rpmx1000 rpm×1000 1000rpm x1000rpm ×1000rpm 1000/min"},
		{speed, "Hz", 60, "hz 1/s /s rps rev/s s-1 s^-1 s⁻¹"},
		{speed, "rad/s", 30 / math.Pi, "rad/s rads rad/sec"},
		{throttle, "%", 1, "% percent pct"},
		{load, "°", 1, "° deg degrees grad"},
	} {
		for _, s := range strings.Fields(u.spellings) {
			all[s] = factor{u.of, u.name, u.times}
		}
	}
	return all
}

func isUnit(text string) bool { _, ok := unitOf(text); return ok }

func unitOf(text string) (factor, bool) {
	u, ok := units[strings.ToLower(strings.ReplaceAll(text, " ", ""))]
	return u, ok
}

// titled is the heading of a column taken apart.
type titled struct {
	whole string   // as it stands in the file
	words []string // lower case, without the unit
	unit  *factor  // nil where the heading has none
}

// title takes a heading apart: "Head speed [rpm]", "t (ms)", "n / min⁻¹", "speed_rpm".
func title(text string) titled {
	t := titled{whole: text}
	name := text
	for _, marks := range []string{"[]", "()", "<>", "{}"} {
		open, close := strings.IndexByte(text, marks[0]), strings.LastIndexByte(text, marks[1])
		if open < 0 || close < open {
			continue
		}
		if u, ok := unitOf(text[open+1 : close]); ok {
			t.unit, name = &u, text[:open]+" "+text[close+1:]
		}
	}
	if before, after, ok := strings.Cut(name, "/"); ok && t.unit == nil {
		if u, known := unitOf(after); known {
			t.unit, name = &u, before
		}
	}
	t.words = wordsOf(name)
	if n := len(t.words); n > 0 && t.unit == nil {
		if u, ok := unitOf(t.words[n-1]); ok && (n > 1 || u.of == speed) {
			t.unit, t.words = &u, append(t.words[:n-1:n-1], wordOfUnit[u.of]...)
		} else if u, ok := unitOf(name); ok {
			t.unit, t.words = &u, wordOfUnit[u.of]
		}
	}
	return t
}

// wordOfUnit is what a unit at the end of a name says besides: "engine_rpm" is a
// speed.
var wordOfUnit = map[quantity][]string{speed: {"speed"}}

// wordsOf cuts a name at spaces, marks and where a capital letter begins a word.
func wordsOf(name string) []string {
	var b strings.Builder
	lower := false
	for _, r := range name {
		upper := r >= 'A' && r <= 'Z'
		if upper && lower {
			b.WriteByte(' ')
		}
		lower = r >= 'a' && r <= 'z'
		if strings.ContainsRune("_-.:,;#|\t[](){}<>\"'", r) {
			r = ' '
		}
		b.WriteRune(r)
	}
	return strings.Fields(strings.ToLower(b.String()))
}
