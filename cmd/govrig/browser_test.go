package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// The pages in a headless browser: nothing leaves the file or this computer,
// the console stays empty, and pictures are kept of them light, dark, narrow and
// printed, in the folder that GOVRIG_PICTURES names.
func TestBrowser(t *testing.T) {
	browser := startBrowser(t)
	for name, test := range map[string]func(*testing.T, *tab){
		"LiveStop": stopARun, "LiveResult": showTheResult, "LiveQuestion": answerAQuestion,
		"Report": reportAnEvening, "ReportOfOne": reportOneRun, "ReportOfFailures": reportFailures,
		"Drawings": drawFiles, "BenchEvening": aVirtualEvening, "BenchForm": aMachineAsAForm, "BenchHand": aGovernorInHand,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, openTab(t, browser))
		})
	}
}

// browserTime is how long the pages may take, lest a broken one hold up
// everything.
const browserTime = 5 * time.Minute

// startBrowser starts a headless Chromium with an empty profile.
func startBrowser(t *testing.T) context.Context {
	path, err := exec.LookPath("chromium")
	require.NoError(t, err, "install chromium")
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-component-update", true),
		// Nothing but this computer can be found.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"),
	)
	ctx, cancel := context.WithTimeout(context.Background(), browserTime)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// tab is a page, and what it has asked for and complained of.
type tab struct {
	t   *testing.T
	ctx context.Context
	dir string // for pictures
	// address is all that the page may ask for anything.
	address string

	mu         sync.Mutex
	requests   []string
	complaints []string
}

func openTab(t *testing.T, browser context.Context) *tab {
	ctx, cancel := chromedp.NewContext(browser)
	t.Cleanup(cancel)
	b := &tab{t: t, ctx: ctx, dir: pictures(t)}
	require.NoError(t, chromedp.Listen(ctx, b.hear))
	b.do(chromedp.EmulateViewport(1240, 900))
	return b
}

// hear notes requests and complaints.
func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventConsoleAPICalled:
		b.complaints = append(b.complaints, fmt.Sprint(e.Type, " ", e.Args))
	case *runtime.EventExceptionThrown:
		b.complaints = append(b.complaints, e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		b.complaints = append(b.complaints, e.Entry.Text)
	}
}

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// eval evaluates an expression in the page.
func eval[T any](b *tab, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	require.NoError(b.t, err)
	return v
}

// until waits until an expression is true in the page.
func (b *tab) until(expression string) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](expression))
	require.NoError(b.t, err, expression)
}

// scheme has the page light or dark.
func (b *tab) scheme(name string) {
	b.t.Helper()
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}},
	})
	require.NoError(b.t, err)
}

// pictures is the folder in which pictures are kept.
func pictures(t *testing.T) string {
	dir := os.Getenv("GOVRIG_PICTURES")
	if dir == "" {
		return t.TempDir()
	}
	require.NoError(t, os.MkdirAll(dir, 0o755))
	return dir
}

// shoot takes a picture of the whole page.
func (b *tab) shoot(name string) {
	b.t.Helper()
	picture, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	require.NoError(b.t, err)
	require.NotEmpty(b.t, picture)
	require.NoError(b.t, os.WriteFile(filepath.Join(b.dir, name+".png"), picture, 0o644))
}

// shootAll takes it light, dark and narrow. Nothing of it may be wider than the
// screen.
func (b *tab) shootAll(name string) {
	b.t.Helper()
	for _, kind := range []struct {
		name, scheme string
		width        int64
	}{{"light", "light", 1240}, {"dark", "dark", 1240}, {"narrow", "light", 360}} {
		b.scheme(kind.scheme)
		b.do(chromedp.EmulateViewport(kind.width, 900))
		require.LessOrEqual(b.t, eval[int64](b, "document.documentElement.scrollWidth"), kind.width, "%s, %s", name, kind.name)
		if kind.name == "narrow" {
			require.Zero(b.t, eval[int](b, `[...document.querySelectorAll(".scroll")].filter(e => e.scrollWidth > e.clientWidth + 1).length`), "%s: off the edge of a telephone", name)
		}
		b.shoot(name + "-" + kind.name)
		b.accessible(name + ", " + kind.name)
	}
	b.scheme("light")
	b.do(chromedp.EmulateViewport(1240, 900))
}

// quiet requires that the page has asked for nothing but what begins with its
// address, and has complained of nothing.
func (b *tab) quiet() {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	require.NotEmpty(b.t, b.requests)
	for _, request := range b.requests {
		require.True(b.t, strings.HasPrefix(request, b.address) || strings.HasPrefix(request, "data:"), "it asked for %s", request)
	}
	require.Empty(b.t, b.complaints)
}

// open goes to a page.
func (b *tab) open(address string) {
	b.t.Helper()
	b.mu.Lock()
	b.address, b.requests = address, nil
	b.mu.Unlock()
	b.do(chromedp.Navigate(address))
}

// print prints the page on A4 paper, keeps pictures of the sheets, and tells
// how many there are.
func (b *tab) print(name string) (sheets int) {
	b.t.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	require.NoError(b.t, err)
	path := filepath.Join(b.dir, name)
	require.NoError(b.t, os.WriteFile(path+".pdf", pdf, 0o644))
	older, err := filepath.Glob(path + "-sheet-*.png") // of another run
	require.NoError(b.t, err)
	for _, sheet := range older {
		require.NoError(b.t, os.Remove(sheet))
	}
	out, err := exec.Command("pdftoppm", "-r", "110", "-png", path+".pdf", path+"-sheet").CombinedOutput()
	require.NoError(b.t, err, "install poppler-utils: %s", out)
	found, err := filepath.Glob(path + "-sheet-*.png")
	require.NoError(b.t, err)
	require.NotEmpty(b.t, found)
	return len(found)
}
