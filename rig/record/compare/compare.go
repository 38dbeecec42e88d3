// Package compare puts runs side by side: each measure with its change, and
// whether that is more than measures vary from run to run by themselves.
package compare

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// Verdict is what a change is worth.
type Verdict string

const (
	// Changed is more than run-to-run scatter.
	Changed Verdict = "changed"
	// Within is not told from run-to-run scatter.
	Within Verdict = "within scatter"
	// Unknown: no two runs are alike, so the scatter is not known.
	Unknown Verdict = "scatter unknown"
	// Missing: one of the two has no value.
	Missing Verdict = "not in both"
)

// Row is one measure over the runs.
type Row struct {
	Name, Unit string
	// Values are those of the runs in order; nil where there is none.
	Values []*float64
	// Verdicts are of each run's change from the first; that of the first
	// itself is empty.
	Verdicts []Verdict
	Scatter  Scatter
}

// Change is how much run i differs from the first; both must have a value.
func (r *Row) Change(i int) float64 { return *r.Values[i] - *r.Values[0] }

// Table is a comparison of runs.
type Table struct {
	Runs []*runlog.Record
	Rows []Row
	// Unlike says in what the runs are not alike, so that a change may have
	// another reason than the governor.
	Unlike []string
	// Repeats is how many runs the scatter comes from, in Sets sets of runs
	// made alike.
	Repeats, Sets int
}

// New compares runs with the first of them. Scatter is taken from all of the
// records in known that are comparable to one of the runs.
func New(runs, known []*runlog.Record) (*Table, error) {
	t := &Table{Runs: runs}
	var results []measure.Result
	for _, r := range runs {
		result, err := r.Result()
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil, fmt.Errorf("%s has no result: it was cut off", r.Name())
		case err != nil:
			return nil, err
		}
		results = append(results, result)
	}
	sets, err := t.sets(known)
	if err != nil {
		return nil, err
	}
	for _, name := range names(results) {
		t.Rows = append(t.Rows, row(name, results, sets))
	}
	t.Unlike, err = unlike(runs)
	return t, err
}

// sets gathers the results of the runs that were made alike, of those sets
// that are comparable to a run of the table.
func (t *Table) sets(known []*runlog.Record) (sets [][]measure.Result, err error) {
	wanted := map[alike]bool{}
	for _, r := range t.Runs {
		wanted[alikeOf(r)] = true
	}
	index := map[set]int{}
	seen := map[string]bool{}
	for _, r := range append(t.Runs[:len(t.Runs):len(t.Runs)], known...) {
		if !wanted[alikeOf(r)] || !whole(r) || seen[r.Name()] {
			continue
		}
		seen[r.Name()] = true
		result, err := r.Result()
		if err != nil {
			return nil, err
		}
		i, ok := index[setOf(r)]
		if !ok {
			i = len(sets)
			index[setOf(r)], sets = i, append(sets, nil)
		}
		sets[i] = append(sets[i], result)
		t.Repeats++
	}
	t.Sets = len(sets)
	return sets, nil
}

// names gives the names of all measures, in the order of the first result that
// has them.
func names(results []measure.Result) (all []string) {
	seen := map[string]bool{}
	for _, r := range results {
		for _, m := range r.Measures {
			if !seen[m.Name] {
				seen[m.Name] = true
				all = append(all, m.Name)
			}
		}
	}
	return all
}

func row(name string, results []measure.Result, sets [][]measure.Result) Row {
	row := Row{Name: name, Scatter: scatter(name, sets)}
	for i := range results {
		var value *float64
		if m := results[i].Find(name); m != nil {
			row.Unit, value = m.Unit, m.Value
		}
		row.Values = append(row.Values, value)
		row.Verdicts = append(row.Verdicts, verdict(row.Values, i, row.Scatter))
	}
	return row
}

func verdict(values []*float64, i int, s Scatter) Verdict {
	if i == 0 {
		return ""
	}
	limit, ok := s.Limit()
	switch {
	case values[0] == nil || values[i] == nil:
		return Missing
	case *values[i] == *values[0]:
		return Within
	case !ok:
		return Unknown
	case math.Abs(*values[i]-*values[0]) > limit:
		return Changed
	}
	return Within
}

// unlike says in what the later runs differ from the first.
func unlike(runs []*runlog.Record) (all []string, err error) {
	first := runs[0]
	for i, r := range runs[1:] {
		letter := Letter(i + 1)
		for _, what := range []struct{ name, a, b string }{
			{"procedure", first.Info.Procedure, r.Info.Procedure},
			{"options", string(first.Info.Options), string(r.Info.Options)},
			{"speed setting", first.Info.Speed, r.Info.Speed},
			{"machine", first.Info.Machine, r.Info.Machine},
			{"hardware", hardware(first), hardware(r)},
			{"govrig", first.Info.Tool, r.Info.Tool},
		} {
			if what.a != what.b {
				all = append(all, fmt.Sprintf("%s: %s was %s in A and is %s", letter, what.name, what.a, what.b))
			}
		}
		changed, err := machineLines(first, r)
		if err != nil {
			return nil, err
		}
		for _, line := range changed {
			all = append(all, letter+": machine file: "+line)
		}
	}
	return all, nil
}

func hardware(r *runlog.Record) string {
	id := r.Info.Identity
	text := fmt.Sprintf("board kind %d with firmware %d.%d", id.Board, id.FirmwareMajor, id.FirmwareMinor)
	if r.Info.Virtual {
		text = "VIRTUAL, " + text
	}
	return text
}

// Letter is the name of the i-th run of a table.
func Letter(i int) string { return string(rune('A' + i)) }

// machineLines says which lines of the machine file only one of two runs has.
func machineLines(a, b *runlog.Record) (lines []string, err error) {
	if a.Info.MachineSum == b.Info.MachineSum {
		return nil, nil
	}
	old, err := a.Machine()
	if err != nil {
		return nil, err
	}
	now, err := b.Machine()
	if err != nil {
		return nil, err
	}
	for _, side := range []struct {
		in, notIn string
		verb      string
	}{{string(old), string(now), "had"}, {string(now), string(old), "has"}} {
		for _, line := range onlyIn(side.in, side.notIn) {
			lines = append(lines, side.verb+" "+line)
		}
	}
	return lines, nil
}

// onlyIn gives the lines of a, without indent, that b has less often.
func onlyIn(a, b string) (lines []string) {
	count := map[string]int{}
	for line := range strings.Lines(b) {
		count[strings.TrimSpace(line)]++
	}
	for line := range strings.Lines(a) {
		line = strings.TrimSpace(line)
		if count[line]--; count[line] < 0 && line != "" && !strings.HasPrefix(line, "#") {
			lines = append(lines, line)
		}
	}
	return lines
}
