package main

import (
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/runlog"
)

// report runs commands without hardware, makes a page of their runs and opens
// it; it gives what the command said.
func (b *tab) report(name string, commands ...[]string) (said string) {
	b.t.Helper()
	return b.reportIn(b.t.TempDir(), name, commands...)
}

// reportIn is report in a folder of records, which may have some already.
func (b *tab) reportIn(records, name string, commands ...[]string) (said string) {
	b.t.Helper()
	for _, args := range commands {
		errs, code := inBackground(append(args, "--virtual", "--records", records)...)
		require.Contains(b.t, []int{exitPass, exitFail}, <-code, "govrig %s\n%s", strings.Join(args, " "), errs)
	}
	runs, _, err := runlog.List(records, func(*runlog.Summary) bool { return true })
	require.NoError(b.t, err)
	page, err := filepath.Abs(filepath.Join(b.dir, name+".html"))
	require.NoError(b.t, err)
	args := []string{"report", "--records", records, "-o", page}
	for _, r := range runs {
		args = append(args, r.Name())
	}
	errs, code := inBackground(args...)
	require.Equal(b.t, exitPass, <-code, errs)
	b.open((&url.URL{Scheme: "file", Path: page}).String())
	return errs.String()
}

// The page of everything that a machine goes through has all that a person at
// the bench looks for, prints on two A4 pages, and does not say go.
func reportAnEvening(t *testing.T, b *tab) {
	records := t.TempDir()
	b.reportIn(records, "passing", []string{"commission", mediumFile})
	require.Equal(t, 3, eval[int](b, `document.querySelectorAll(".also figure").length`), "steady state, spool-up and flight fill the second sheet")
	require.Equal(t, 2, b.print("passing"))
	b.quiet()
	said := b.reportIn(records, "report", []string{"tune", mediumFile, "--positions", "4"})
	require.Contains(t, said, "not proven; written: ")
	require.Contains(t, eval[string](b, "document.title"), "VIRTUAL")
	require.Equal(t, "NOT PROVEN\nvirtual run", eval[string](b, `document.querySelector(".stamp").innerText`))
	text := eval[string](b, "document.body.textContent")
	for _, part := range []string{
		"Virtual run: a simulated governor proves nothing", "What to do next", "Set-up sheet", "8.6667", "gap 1.4 mm", "sensing element",
		"Before anything turns", "Both jumpers are right", "It counts one pulse for each that it is given", "it engages at",
		"hover: from idling to the setting", "hover: light, heavy, light load", "brisk: load on", "circuit: load off", "seconds from the load change",
		"throttle, % of servo travel", "beyond a limit", "brisk: margins, must be ≥ 30° and ≥ 6 dB", "phase, degrees",
		"phase margin against the gain", "position to keep", "the pickup lost during the spool-up", "throttle at the end",
		"How sure it is", "The worst of any run", "How it was measured", "ISO 8528-5",
	} {
		require.Contains(t, strings.ToLower(text), strings.ToLower(part))
	}
	b.shootAll("report")
	b.drawn(20)
	require.LessOrEqual(t, b.print("report"), 2)
	b.quiet()
}

// So does the page of a governor that lets the speed sag, which misses limits of
// three tests out of nine.
func reportFailures(t *testing.T, b *tab) {
	text, err := os.ReadFile(mediumFile)
	require.NoError(t, err)
	sagging := filepath.Join(t.TempDir(), "sagging.yaml")
	require.NoError(t, os.WriteFile(sagging, append(text, "\nstand_in: {quirk: proportional_only}\n"...), 0o644))
	said := b.report("failures", []string{"commission", sagging, "--leave-out", "tune"}, []string{"tune", sagging, "--positions", "2"})
	require.Contains(t, said, "no-go; written: ")
	require.Contains(t, eval[string](b, "document.body.textContent"), "Steady state: speed droop, at hover is ")
	b.drawn(15)
	require.LessOrEqual(t, b.print("failures"), 2)
	b.quiet()
}

// And so does one run alone.
func reportOneRun(t *testing.T, b *tab) {
	require.Contains(t, b.report("one", []string{"loadstep", mediumFile, "--brief"}), "VIRTUAL")
	b.drawn(3)
	require.LessOrEqual(t, b.print("one"), 2)
	b.quiet()
}
