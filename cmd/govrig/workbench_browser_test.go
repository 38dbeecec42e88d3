package main

import (
	"context"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"govrig/rig/commission"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// aBench opens the bench page on a folder of its own; end closes it as Ctrl-C
// does.
func aBench(t *testing.T, b *tab, args ...string) (folder string, end func()) {
	folder = t.TempDir()
	ctx, cancel := context.WithCancel(context.Background())
	errs, code := newShared(), make(chan int, 1)
	args = append([]string{"bench", "--no-browser", "--folder", folder, "--records", filepath.Join(folder, "runs")}, args...)
	go func() { code <- run(ctx, args, streams{in: strings.NewReader(""), out: io.Discard, err: errs}) }()
	b.open(errs.address(t))
	return folder, func() {
		cancel()
		require.Equal(t, exitPass, <-code, errs.String())
	}
}

func (b *tab) press(key string) {
	b.t.Helper()
	b.do(chromedp.KeyEvent(key))
}

// A newcomer without hardware: chooses a simulated governor, stops a test from
// another room by Escape, does one test to its end, reads its finding and finds
// it on the paper. The state is the server's: another window shows the same.
func aVirtualEvening(t *testing.T, b *tab) {
	folder, end := aBench(t, b)
	defer end()
	b.shootAll("bench-start")
	b.do(chromedp.Click(chromedp.CSS("#example button")))
	b.do(chromedp.WaitVisible(chromedp.CSS(".steps li")))
	require.Contains(t, eval[string](b, `document.querySelector(".mine").textContent`), "VIRTUAL")
	b.shootAll("bench-tests")

	b.do(chromedp.Click(chromedp.CSS(`[data-walk="throttle"]`)))
	b.until(`document.getElementById("title").textContent.startsWith("Step 4 of 10: Throttle")`)
	b.do(chromedp.Navigate(b.address + "paper"))
	b.until(`!document.getElementById("going").hidden`)
	b.press("\x1b")
	b.until(`document.getElementById("going").hidden`)

	b.do(chromedp.Navigate(b.address + "tests"))
	b.do(chromedp.Click(chromedp.CSS(`[data-walk="selftest"]`)))
	b.until(`document.querySelector(".steps li").className.includes("pass")`)
	b.until(`!document.querySelector("[data-walk]").disabled`)
	b.shootAll("bench-after")
	m, err := machine.Load(filepath.Join(folder, "example-none.yaml"))
	require.NoError(t, err)
	s, err := commission.Open(filepath.Join(folder, "runs"), m, true, procedure.All)
	require.NoError(t, err)
	require.True(t, s.Passed(0), "a terminal's commission goes on where the page stopped")

	b.do(chromedp.Navigate(b.address + "paper"))
	require.Equal(t, int64(2), eval[int64](b, `document.querySelectorAll("#beside tbody tr").length`))
	b.shootAll("bench-paper")
	b.do(chromedp.Navigate(b.address + "report"))
	require.Contains(t, eval[string](b, `document.body.innerText`), "VIRTUAL")
	b.quiet()
}

// A slip in the form is told at its field in the words of the file, and what is
// saved changes its line and nothing else.
func aMachineAsAForm(t *testing.T, b *tab) {
	text, err := os.ReadFile(filepath.Join(root, "testdata/machines/medium-15cc.yaml"))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "mine.yaml")
	require.NoError(t, os.WriteFile(path, text, 0o644))
	_, end := aBench(t, b, path)
	defer end()
	b.shootAll("bench-machine")
	mass := `document.getElementById("flying_mass")`
	b.do(chromedp.Focus(chromedp.ID("flying_mass")))
	eval[bool](b, mass+`.value = ""; true`)
	b.do(chromedp.SendKeys(chromedp.ID("flying_mass"), "46 kgs"))
	b.until(`document.getElementById("flying_mass-fault").textContent.includes("46 kgs")`)
	_, err = machine.Parse("mine", []byte(regexp.MustCompile(`flying_mass: .*`).ReplaceAllString(string(text), "flying_mass: 46 kgs")))
	require.ErrorContains(t, err, eval[string](b, `document.getElementById("flying_mass-fault").textContent`))
	b.shoot("bench-machine-slip")
	b.do(chromedp.Click(chromedp.CSS("#machine button[type=submit]")))
	b.until(`document.getElementById("saved").textContent.startsWith("Nothing was saved")`)

	drawn := `document.getElementById("sheet").textContent`
	before := eval[string](b, drawn)
	eval[bool](b, mass+`.value = ""; true`)
	b.do(chromedp.SendKeys(chromedp.ID("flying_mass"), "4.9 kg"))
	b.until(`document.getElementById("flying_mass-fault").hidden`)
	eval[bool](b, `document.getElementById("speeds.hover.head_speed").value = ""; true`)
	b.do(chromedp.SendKeys(chromedp.CSS(`[id="speeds.hover.head_speed"]`), "1490 rpm"))
	b.until(drawn + ` !== ` + quotedJS(before))
	b.press("\r")
	b.until(`document.getElementById("saved").textContent === "Saved."`)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	was, now := strings.Split(string(text), "\n"), strings.Split(string(after), "\n")
	changed := 0
	for _, line := range now {
		if !strings.Contains(string(text), line+"\n") {
			changed++
		}
	}
	require.LessOrEqual(t, len(now)-len(was), 1)
	require.Equal(t, 2, changed)
	b.quiet()
}

func quotedJS(text string) string {
	return "`" + strings.NewReplacer("\\", "\\\\", "`", "\\`", "$", "\\$").Replace(text) + "`"
}

func TestBrowserOfEverySystem(t *testing.T) {
	for system, want := range map[string]string{"windows": "rundll32", "darwin": "open", "linux": "xdg-open", "freebsd": "xdg-open"} {
		name, args := browser(system, "http://127.0.0.1:1/x/")
		require.Equal(t, want, name)
		require.Contains(t, args, "http://127.0.0.1:1/x/")
	}
}

// Stick and pickup in a student's hands; with the page gone the board plays nothing
// any more, which the record tells.
func aGovernorInHand(t *testing.T, b *tab) {
	folder, end := aBench(t, b, filepath.Join(root, "testdata/machines/medium-15cc.yaml"), "--virtual")
	defer end()
	b.do(chromedp.Navigate(b.address + "hand"))
	b.do(chromedp.Click(chromedp.CSS("#take")), chromedp.WaitVisible(chromedp.CSS("#hands")))
	b.until(`parseFloat(document.getElementById("barrel").textContent) < 20`)
	b.do(chromedp.Click(chromedp.CSS(`[data-order="stick high"]`)))
	b.until(`document.getElementById("stick-width").textContent === "1880"`)
	b.do(chromedp.Click(chromedp.CSS(`[data-order="pickup idle"]`)))
	b.until(`parseFloat(document.getElementById("speed").textContent) > 1000`)
	b.shootAll("bench-hand")
	b.do(chromedp.Navigate(b.address + "board"))
	b.until(`document.getElementById("going").hidden`)
	b.quiet()
	rec, err := runlog.Find(filepath.Join(folder, "runs"), runlog.Last)
	require.NoError(t, err)
	require.NotEqual(t, runlog.Complete, rec.Reason())
}
