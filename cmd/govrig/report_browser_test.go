//go:build browser && !race

package main

import (
	"context"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// govrig runs a command in this process and requires its exit code.
func govrig(t *testing.T, want int, args ...string) (out, errs string) {
	t.Helper()
	var o, e strings.Builder
	code := run(context.Background(), args, streams{in: strings.NewReader(""), out: &o, err: &e})
	require.Equal(t, want, code, "govrig %s\n%s", strings.Join(args, " "), e.String())
	return o.String(), e.String()
}

// The page of a whole evening: nothing leaves it, it complains of nothing, and
// it prints on two A4 pages.
func TestReportInABrowser(t *testing.T) {
	const trainer = "../../testdata/machines/trainer-15cc.yaml"
	records, dir := t.TempDir(), pictures(t)
	for _, args := range [][]string{
		{"selftest"}, {"pickup", trainer}, {"accept", trainer}, {"throttle", trainer}, {"hold", trainer}, {"spoolup", trainer},
		{"loadstep", trainer, "--speed", "all"}, {"sweep", trainer, "--speed", "all"}, {"tune", trainer, "--positions", "6"}, {"faults", trainer},
	} {
		govrig(t, exitPass, append(args, "--virtual", "--records", records)...)
	}
	runs, err := os.ReadDir(records)
	require.NoError(t, err)
	page := filepath.Join(dir, "report.html")
	args := []string{"report", "--records", records, "-o", page}
	for _, entry := range runs {
		args = append(args, entry.Name())
	}
	_, errs := govrig(t, exitPass, args...)
	require.Contains(t, errs, "not proven; written: ")

	b := openBrowser(t)
	address := (&url.URL{Scheme: "file", Path: absolute(t, page)}).String()
	b.do(chromedp.EmulateViewport(1240, 900), chromedp.Navigate(address))
	require.Contains(t, eval[string](b, "document.title"), "VIRTUAL")
	require.Contains(t, eval[string](b, "document.body.innerText"), "NOT PROVEN")
	b.shootAll(dir, "report")
	require.LessOrEqual(t, b.print(dir, "report"), 2)
	b.quiet(address)

	// One run alone.
	_, errs = govrig(t, exitPass, "report", "--records", records, "-o", filepath.Join(dir, "one.html"), runs[6].Name())
	require.Contains(t, errs, "VIRTUAL")
	address = (&url.URL{Scheme: "file", Path: absolute(t, filepath.Join(dir, "one.html"))}).String()
	alone := openBrowser(t)
	alone.do(chromedp.Navigate(address))
	require.LessOrEqual(t, alone.print(dir, "one"), 2)
	alone.quiet(address)
}

func absolute(t *testing.T, path string) string {
	t.Helper()
	path, err := filepath.Abs(path)
	require.NoError(t, err)
	return path
}

// print prints the page on A4 paper, keeps pictures of the sheets, and tells
// how many there are.
func (b *browser) print(dir, name string) (sheets int) {
	b.t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	require.NoError(b.t, err)
	path := filepath.Join(dir, name+".pdf")
	require.NoError(b.t, os.WriteFile(path, pdf, 0o644))
	out, err := exec.Command("pdftoppm", "-r", "100", "-png", path, filepath.Join(dir, name+"-sheet")).CombinedOutput()
	require.NoError(b.t, err, "install poppler-utils: %s", out)
	found, err := filepath.Glob(filepath.Join(dir, name+"-sheet-*.png"))
	require.NoError(b.t, err)
	require.NotEmpty(b.t, found)
	return len(found)
}
