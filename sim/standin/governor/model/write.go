package model

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"govrig/sim/keyfile"
	"govrig/sim/unit"
	"govrig/sim/words"
)

const head = `# A governor file of govrig: what is known of one governor, for virtual runs and
# predictions with --governor. Each value has its standard uncertainty (one
# standard deviation) and the run that it came from. What is left out is not
# known; the machine file's stand_in then takes its place.
#
# Caution: a model is no governor. What it predicts is proven on the bench with the
# governor itself before an engine runs.

`

// Write writes the file, with what each key means.
func (m *Model) Write(w io.Writer) error {
	p := &writer{}
	p.b.WriteString(head)
	p.line("", "format: "+Format)
	p.text("", "name", m.Name)
	p.text("", "notes", m.Notes)
	p.text("", "measured_on", m.Machine)
	p.word("", "bench", m.Bench)
	p.text("", "measured", m.Date)
	entries := m.Entries()
	for _, section := range file.Keys {
		if section.Kind == keyfile.Section {
			p.section(m, section, entries)
		}
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

type writer struct{ b strings.Builder }

func (w *writer) line(indent, text string) { w.b.WriteString(indent + text + "\n") }

func (w *writer) remark(indent, text string) {
	w.b.WriteString(words.Wrap(indent+"# ", indent+"# ", text, 79))
}

func (w *writer) text(indent, key, text string) {
	if text != "" {
		w.line(indent, key+": "+strconv.Quote(text))
	}
}

func (w *writer) word(indent, key, word string) {
	if word != "" {
		w.line(indent, key+": "+strconv.Quote(word))
	}
}

// section writes a section where anything in it is known.
func (w *writer) section(m *Model, section *keyfile.Key, entries []Entry) {
	inner := &writer{}
	for _, e := range entries {
		if e.Known && strings.HasPrefix(e.Path, section.Name+".") {
			inner.remark("  ", e.About)
			inner.line("  ", strings.TrimPrefix(e.Path, section.Name+".")+": "+e.flow())
		}
	}
	switch section.Name {
	case "law":
		inner.word("  ", "wind_up", m.Law.WindUp)
	case "speed_setting":
		inner.points(m.Setting.Points)
	case "faults":
		inner.word("  ", "on_pickup_loss", m.Faults.OnLoss)
		inner.word("  ", "on_stick_loss", m.Faults.OnStick)
		inner.reactions(m.Faults.Reactions)
	case "fit":
		inner.fit(&m.Fit)
	}
	if inner.b.Len() > 0 {
		w.line("", "")
		w.remark("", section.About)
		w.line("", section.Name+":")
		w.b.WriteString(inner.b.String())
	}
}

func (w *writer) fit(f *Fit) {
	if f.Lines > 0 {
		w.line("  ", "residual: "+text(share, float64(f.Residual), "%", 3))
		w.line("  ", "worst: "+text(share, float64(f.Worst), "%", 3))
		w.line("  ", fmt.Sprintf("lines: %d", f.Lines))
		w.word("  ", "load_step", f.LoadStep)
	}
}

func (w *writer) points(points []Point) {
	if len(points) == 0 {
		return
	}
	w.line("  ", "points:")
	for _, p := range points {
		w.line("    ", "- "+flow("pulse", text(time, float64(p.Pulse), "µs", 6), "speed", text(speed, float64(p.Speed), "rpm", 6),
			"uncertainty", text(speed, float64(p.Uncertainty), "rpm", 2), "run", quoted(p.Run)))
	}
}

func (w *writer) reactions(all []Reaction) {
	if len(all) == 0 {
		return
	}
	w.line("  ", "reactions:")
	for _, r := range all {
		of := func(d *unit.Dimension, v *float64, symbol string) string {
			if v == nil {
				return ""
			}
			return text(d, *v, symbol, 3)
		}
		w.line("    ", "- "+flow("fault", strconv.Quote(r.Fault), "time_to_safe", of(time, (*float64)(r.Time), "ms"),
			"highest_speed", of(share, (*float64)(r.Highest), "%"), "throttle_at_end", of(share, (*float64)(r.Throttle), "%"), "run", quoted(r.Run)))
	}
}

// flow writes an estimate on one line.
func (e *Entry) flow() string {
	uncertainty := ""
	if e.Uncertainty > 0 {
		uncertainty = e.Text(e.Uncertainty, 2)
	}
	return flow("value", e.Text(e.Value, 5), "uncertainty", uncertainty, "run", quoted(e.Run))
}

// flow writes pairs of a key and its text; those without a text are left out.
func flow(pairs ...string) string {
	var all []string
	for i := 0; i < len(pairs); i += 2 {
		if pairs[i+1] != "" {
			all = append(all, pairs[i]+": "+pairs[i+1])
		}
	}
	return "{" + strings.Join(all, ", ") + "}"
}

func quoted(text string) string {
	if text == "" {
		return ""
	}
	return strconv.Quote(text)
}

var (
	time  = unit.Time(0).Dimension()
	speed = unit.Speed(0).Dimension()
	share = unit.Share(0).Dimension()
)

// text writes a value in a unit, with so many digits; of no dimension it is a plain
// number.
func text(d *unit.Dimension, v float64, symbol string, digits int) string {
	if d == nil {
		return round(v, digits)
	}
	number, of, _ := strings.Cut(d.Format(v, symbol), " ")
	n, err := strconv.ParseFloat(number, 64)
	if err != nil {
		return d.Format(v, symbol)
	}
	return round(n, digits) + " " + of
}

func round(v float64, digits int) string {
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	return strconv.FormatFloat(v, 'f', -1, 64)
}
