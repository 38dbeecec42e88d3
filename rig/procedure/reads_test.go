package procedure_test

import (
	"context"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/sim/machine"
)

// What a procedure says that it reads of the machine file is all that it reads: on a
// machine in which everything else is otherwise it comes to the same.
func TestNothingElseIsRead(t *testing.T) {
	m := written(t, written(t, map[string]string{"main_rotor.greatest_head_speed": "2500 rpm"}).Values()) // nothing assumed
	for name, least := range map[string]int{"pickup": 80, "throttle": 60, "accept": 3, "spoolup": 14, "loadstep": 14} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p := procedure.All.Find(name)
			read := execution.ReadOf(m, p.Reads, "", true)
			other, changed := changed(t, m, read)
			require.GreaterOrEqual(t, changed, least, "values that are not read and could be changed")
			require.Equal(t, read, execution.ReadOf(other, p.Reads, "", true))
			was, is := performed(t, p, m), performed(t, p, other)
			require.Equal(t, was.Result, is.Result)
			require.Equal(t, was.Found, is.Found)
			require.Equal(t, was.Next, is.Next)
			require.Equal(t, read, was.Read, "and the run tells it")
		})
	}
}

func written(t *testing.T, answers map[string]string) *machine.Machine {
	text, err := machine.Template(answers)
	require.NoError(t, err)
	m, err := machine.Parse("new.yaml", []byte(text))
	require.NoError(t, err)
	return m
}

func performed(t *testing.T, p *execution.Procedure, m *machine.Machine) *execution.Run {
	o := p.New()
	b := &execution.Bench{Machine: m, Where: "virtual"}
	require.NoError(t, o.Simulate(b))
	r, err := o.Run(context.Background(), b)
	require.NoError(t, err)
	return r
}

// changed is a machine in which every value is another but those that are read and
// those that the file does not let go alone, and how many are.
func changed(t *testing.T, m *machine.Machine, read map[string]string) (other *machine.Machine, n int) {
	answers := m.Values()
	other = m
	for _, path := range slices.Sorted(maps.Keys(answers)) {
		if _, kept := read[path]; kept || path == "format" {
			continue
		}
		old := answers[path]
		for _, value := range otherValues(old) {
			answers[path] = value
			if text, err := machine.Template(answers); err == nil {
				if again, err := machine.Parse("changed.yaml", []byte(text)); err == nil {
					other, n, old = again, n+1, value
					break
				}
			}
		}
		answers[path] = old
	}
	return other, n
}

var leading = regexp.MustCompile(`^-?[0-9.]+`)

// otherValues are values near the one of a key.
func otherValues(text string) (all []string) {
	digits := leading.FindString(text)
	if digits == "" {
		return []string{"digital", "latch", "petrol", "belt", "coarse_output", text + " otherwise"}
	}
	x, _ := strconv.ParseFloat(digits, 64)
	for _, y := range []float64{1.02 * x, 0.98 * x, x + 1, x - 1} {
		all = append(all, strconv.FormatFloat(y, 'g', 6, 64)+text[len(digits):])
	}
	return all
}
