package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"govrig/sim/words"
)

// convention is the definition by which numbers were taken.
type convention struct {
	Names, Text string // of the measures; the definition
	Free        bool   // a print can do without it
}

// rigRow is what the rig itself added and lost in a run, and where the run is
// kept.
type rigRow struct {
	Run, Ended string
	Own        []string // its measures
	Clock      string
}

// rigMeasures are the columns of the table of the rig itself.
var rigMeasures = []string{"pulse_interval_error", "pulse_interval_error_worst", "pulses_unpaired", "loop_delay", "loop_delay_spread", "late_frames", "frames_lost"}

func (d *Document) rig() (rows []rigRow) {
	for _, r := range d.runs {
		row := rigRow{Run: r.rec.Name(), Ended: endWords(r.rec), Clock: words.Minus(clockWords(r.rec))}
		for _, name := range rigMeasures {
			text := "–"
			if m := r.run.Result.Find(name); m != nil && m.Value != nil {
				text = short(*m.Value, m.Unit)
			}
			row.Own = append(row.Own, text)
		}
		rows = append(rows, row)
	}
	return rows
}

// rigWorst says in a sentence what the rig itself added and lost at most in any
// of the runs.
func (d *Document) rigWorst() string {
	worst := func(name string) string {
		most, unit := math.Inf(-1), ""
		for _, r := range d.runs {
			if m := r.run.Result.Find(name); m != nil && m.Value != nil {
				most, unit = math.Max(most, *m.Value), m.Unit
			}
		}
		if math.IsInf(most, -1) {
			return "not measured"
		}
		return short(most, unit)
	}
	var clocks []string
	for _, r := range d.runs {
		clocks = appendNew(clocks, words.Minus(clockWords(r.rec)))
	}
	return fmt.Sprintf("The worst of any run: spacing of the pickup pulses off by %s (root mean square), at most %s; "+
		"delay of the loop %s, scattering by %s; late answers %s; messages lost %s. Clock: %s.",
		worst("pulse_interval_error"), worst("pulse_interval_error_worst"), worst("loop_delay"), worst("loop_delay_spread"),
		worst("late_frames"), worst("frames_lost"), strings.Join(clocks, "; "))
}

// makers tell by what the runs were made: each board and each version of the
// program once, with the runs' procedures where there are several.
func (d *Document) makers() (lines []string) {
	by := map[string][]string{}
	for _, r := range d.runs {
		i := &r.rec.Info
		text := fmt.Sprintf("Board %s; protocol %d; govrig %s on %s", boardWords(i), i.Identity.Protocol, i.Tool, i.System)
		if i.Machine != "" {
			text += fmt.Sprintf("; machine file %.12s", i.MachineSum)
		}
		lines = appendNew(lines, text)
		by[text] = appendNew(by[text], i.Procedure)
	}
	for i, text := range lines {
		if len(lines) > 1 {
			lines[i] = strings.Join(by[text], ", ") + ": " + text
		}
	}
	return lines
}

// conventions say by which definition each number was taken. Measures of one
// definition stand together; what differs from one to the next (a window, a
// level) is left out. A print has those of the measures that it has.
func (d *Document) conventions(sections []*section) (all []convention) {
	var names []string
	said := map[string][]string{} // the parts of the definition, by name
	judged := map[string]bool{}   // by name
	for n, r := range d.runs {
		section := sections[n]
		for i := range r.run.Result.Measures {
			m := &r.run.Result.Measures[i]
			if m.Convention == "" || ofFault(m) {
				continue
			}
			name := plain(m.Key.What)
			judged[name] = judged[name] || section.printed(m)
			parts := strings.Split(m.Convention, "; ")
			if known, ok := said[name]; ok {
				said[name] = alike(known, parts)
				continue
			}
			names = append(names, name)
			said[name] = parts
		}
	}
	var texts []string
	by := map[string][]string{}
	for _, name := range names {
		text := strings.Join(said[name], "; ")
		if text == "" {
			continue
		}
		texts, by[text] = appendNew(texts, text), append(by[text], name)
	}
	for _, text := range texts {
		c := convention{strings.Join(by[text], ", "), minus([]string{text})[0], true}
		for _, name := range by[text] {
			c.Free = c.Free && !judged[name]
		}
		all = append(all, c)
	}
	return all
}

// alike is how far two lists begin alike.
func alike(a, b []string) []string {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	return slices.Clone(a[:n])
}
