//go:build speed

package main

import (
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// tries is how often a command is timed; the shortest counts, as other programs can
// only make it longer.
var tries = flag.Int("tries", 3, "how often each command is timed")

// shortest is what a command took at its best.
func shortest(t *testing.T, program string, args ...string) used {
	best := used{waited: time.Hour}
	for range *tries {
		if u := use(t, program, args...); u.waited < best.waited {
			best = u
		}
	}
	return best
}

// TestSpeed prints the table of the README: what a person waits for.
//
//	go test -tags speed -run Speed -v -timeout 0 ./cmd/govrig
func TestSpeed(t *testing.T) {
	program := filepath.Join(t.TempDir(), "govrig")
	out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput()
	require.NoError(t, err, string(out))
	var table strings.Builder
	table.WriteString("| what | a person waits | processor | resident |\n|---|---|---|---|\n")
	row := func(what, takes string, u used) {
		fmt.Fprintf(&table, "| %s | %s | %.2f s | %.0f MB |\n", what, takes, u.processor.Seconds(), u.resident)
	}
	hour(t, program, row)
	commissions(t, program, row)
	u := shortest(t, program, "predict", medium, "--gains", "20..400/20", "--times", "0.1..2/20")
	row("`predict`, 20 gains × 20 times × 10 s", seconds(u), u)
	for _, b := range [][3]string{{"./sim/heli", "Step", "a step of the plant, 0.25 ms"}, {"./rig", "LoopStep", "the loop's step, 2 ms"}} {
		fmt.Fprintf(&table, "| %s | %s |  |  |\n", b[2], benchmark(t, b[0], b[1]))
	}
	fmt.Println(table.String())
}

// hour times the commands on an hour at 500 frames a second.
func hour(t *testing.T, program string, row func(what, takes string, u used)) {
	records := t.TempDir()
	run := use(t, program, "hold", medium, "--virtual", "--speed", "hover", "--time", "30m", "--records", records)
	length := boardTime(t, records)
	row("`hold --virtual` for an hour", times(length, run), run)
	in := func(args ...string) used { return shortest(t, program, append(args, "--records", records)...) }
	u := in("replay", "last")
	row("`replay` of it", times(length, u), u)
	u = in("report", "last", "-o", filepath.Join(records, "page.html"))
	row("`report` of it", seconds(u), u)
	u = in("show", "last")
	row("`show` of it", seconds(u), u)
	csv := filepath.Join(records, "hour.csv")
	u = in("export", "last", "--csv", "-o", csv)
	row("`export --csv` of it", seconds(u), u)
	u = shortest(t, program, "measure", csv)
	row("`measure` of that CSV", seconds(u), u)
}

// commissions times a whole commission of each machine.
func commissions(t *testing.T, program string, row func(what, takes string, u used)) {
	machines, err := filepath.Glob(root + "/testdata/machines/*.yaml")
	require.NoError(t, err)
	for _, machine := range machines {
		best, length := used{waited: time.Hour}, 0.
		for range *tries {
			records := t.TempDir()
			u := use(t, program, "commission", machine, "--virtual", "--records", records)
			if u.waited < best.waited {
				best, length = u, boardTime(t, records)
			}
			require.NoError(t, os.RemoveAll(records))
		}
		row("`commission --virtual`, "+strings.TrimSuffix(filepath.Base(machine), ".yaml"), times(length, best), best)
	}
}

func seconds(u used) string { return fmt.Sprintf("%.2f s", u.waited.Seconds()) }

// times is how many times as fast as the board something was.
func times(board float64, u used) string {
	return fmt.Sprintf("%.2f s, %.0f × the board's %.0f s", u.waited.Seconds(), board/u.waited.Seconds(), board)
}

var perOperation = regexp.MustCompile(`([0-9.]+) ns/op`)

// benchmark runs one of the packages' own.
func benchmark(t *testing.T, folder, name string) string {
	c := exec.Command("go", "test", "-run", "^$", "-bench", "^Benchmark"+name+"$", folder)
	c.Dir = root
	out, err := c.CombinedOutput()
	require.NoError(t, err, string(out))
	found := perOperation.FindSubmatch(out)
	require.NotNil(t, found, string(out))
	ns, err := strconv.ParseFloat(string(found[1]), 64)
	require.NoError(t, err)
	return fmt.Sprintf("%.3g µs", ns/1000)
}
