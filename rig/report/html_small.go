package report

import (
	"fmt"
	"slices"
	"strings"
)

// smallPrint is a heading with lines below.
type smallPrint struct {
	Title string
	Lines []string
}

// smallPrint says how it was measured.
func (d *Document) smallPrint() []smallPrint {
	return []smallPrint{
		{"How it was measured", minus(d.conventions())},
		{"Runs", d.particulars()},
	}
}

// rig is the rig's own measures, one row a run: name, the measures, clock.
func (d *Document) rig() (rows [][]string) {
	for _, r := range d.runs {
		row := []string{r.name()}
		for _, name := range ownMeasures {
			text := "–"
			if m := r.run.Result.Find(name); m != nil && m.Value != nil {
				text = quantity(rounded(*m.Value), m.Unit)
			}
			row = append(row, text)
		}
		rows = append(rows, append(row, tidy(clockWords(r.rec))))
	}
	return rows
}

// name is what the small print calls a run.
func (r *reported) name() string {
	name := r.rec.Info.Procedure
	if r.rec.Info.Speed != "" {
		name += ", " + r.rec.Info.Speed
	}
	return name
}

// conventions say by which definition each number was taken. Measures of one
// definition stand together; what differs from one to the next (a window, a
// level) is left out.
func (d *Document) conventions() (lines []string) {
	var names []string
	said := map[string][]string{} // the parts of the definition, by name
	for _, r := range d.runs {
		suffixes := r.suffixes()
		for i := range r.run.Result.Measures {
			m := &r.run.Result.Measures[i]
			if m.Convention == "" || ofFault(m) {
				continue
			}
			name, _ := split(m.Name, suffixes)
			name, _, _ = strings.Cut(plain(name), ", load o")
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
		texts, by[text] = appendNew(texts, text), append(by[text], name)
	}
	for _, text := range texts {
		lines = append(lines, strings.Join(by[text], ", ")+": "+text)
	}
	return lines
}

// alike is how far two lists begin alike.
func alike(a, b []string) []string {
	n := 0
	for n < min(len(a), len(b)) && a[n] == b[n] {
		n++
	}
	return slices.Clone(a[:n])
}

// particulars tell where each run came from.
func (d *Document) particulars() (lines []string) {
	for _, r := range d.runs {
		i := &r.rec.Info
		text := fmt.Sprintf("%s, started %s, %s; %s; govrig %s on %s, protocol %d",
			r.rec.Name(), i.Started, endWords(r.rec), boardWords(i), i.Tool, i.System, i.Identity.Protocol)
		if i.MachineSum != "" && i.Machine != "" {
			text += fmt.Sprintf("; machine file %.12s", i.MachineSum)
		}
		if o := options(i); o != "" {
			text += "; options " + o
		}
		lines = append(lines, text)
	}
	return lines
}
