//go:build browser

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

// browser is a headless Chromium with one page open, and what that page has
// asked for and complained of.
type browser struct {
	t   *testing.T
	ctx context.Context

	mu         sync.Mutex
	requests   []string
	complaints []string
}

// browserTime is how long a test may use a browser, lest a broken page hold up
// everything.
const browserTime = 3 * time.Minute

// openBrowser opens a browser of its own, with an empty profile.
func openBrowser(t *testing.T) *browser {
	path, err := exec.LookPath("chromium")
	require.NoError(t, err, "install chromium")
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-component-update", true),
		// Nothing but this computer can be found.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"),
	)
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), options...)
	t.Cleanup(cancel)
	b := &browser{t: t}
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, browserTime)
	t.Cleanup(cancel)
	b.ctx = ctx
	require.NoError(t, chromedp.Listen(ctx, b.hear))
	return b
}

// hear notes requests and complaints.
func (b *browser) hear(event any) {
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

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// eval evaluates an expression in the page.
func eval[T any](b *browser, expression string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	require.NoError(b.t, err)
	return v
}

// until waits until an expression is true in the page.
func (b *browser) until(expression string) {
	b.t.Helper()
	_, err := chromedp.Run(b.ctx, chromedp.Poll[bool](expression))
	require.NoError(b.t, err, expression)
}

// scheme has the page light or dark.
func (b *browser) scheme(name string) {
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
func (b *browser) shoot(dir, name string) {
	b.t.Helper()
	picture, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	require.NoError(b.t, err)
	require.NotEmpty(b.t, picture)
	require.NoError(b.t, os.WriteFile(filepath.Join(dir, name+".png"), picture, 0o644))
}

// shootAll takes it light, dark and narrow. Nothing of it may be wider than the
// screen.
func (b *browser) shootAll(dir, name string) {
	b.t.Helper()
	for _, kind := range []struct {
		name, scheme string
		width        int64
	}{{"light", "light", 1240}, {"dark", "dark", 1240}, {"narrow", "light", 400}} {
		b.scheme(kind.scheme)
		b.do(chromedp.EmulateViewport(kind.width, 900))
		require.LessOrEqual(b.t, eval[int64](b, "document.documentElement.scrollWidth"), kind.width, "%s, %s", name, kind.name)
		b.shoot(dir, name+"-"+kind.name)
	}
	b.scheme("light")
	b.do(chromedp.EmulateViewport(1240, 900))
}

// quiet requires that the page has asked for nothing but what begins with
// address, and has complained of nothing.
func (b *browser) quiet(address string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	require.NotEmpty(b.t, b.requests)
	for _, request := range b.requests {
		require.True(b.t, strings.HasPrefix(request, address) || strings.HasPrefix(request, "data:"), "it asked for %s", request)
	}
	require.Empty(b.t, b.complaints)
}
