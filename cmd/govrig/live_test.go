//go:build browser

package main

import (
	"bytes"
	"context"
	"errors"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"govrig/rig/live"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
)

// shared is a buffer that one goroutine writes while another reads.
type shared struct {
	mu    sync.Mutex
	b     bytes.Buffer
	wrote chan struct{} // holds one ring
}

func newShared() *shared { return &shared{wrote: make(chan struct{}, 1)} }

func (s *shared) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	select {
	case s.wrote <- struct{}{}:
	default:
	}
	return s.b.Write(p)
}

func (s *shared) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

var pageAddress = regexp.MustCompile(`http://127\.0\.0\.1:\d+/[A-Z2-7]+/`)

// address waits for the page's address.
func (s *shared) address(t *testing.T) string {
	for {
		if found := pageAddress.FindString(s.String()); found != "" {
			return found
		}
		<-s.wrote
	}
}

// A person looks at a run and stops it: the board plays on for less than its
// failsafe time, the page says so and stays, and the record is kept.
func TestLivePageStopsARun(t *testing.T) {
	records, dir := t.TempDir(), pictures(t)
	b := openBrowser(t)
	errs, code := newShared(), make(chan int, 1)
	var out strings.Builder
	go func() {
		code <- run(context.Background(), []string{
			"loadstep", "../../testdata/machines/trainer-15cc.yaml", "--virtual", "--live", "--records", records,
		}, streams{in: strings.NewReader(""), out: &out, err: errs})
	}()
	address := errs.address(t)
	b.do(chromedp.EmulateViewport(1240, 900), chromedp.Navigate(address))
	b.until(`document.getElementById("phase").textContent === "load on"`)
	b.until(`parseFloat(document.getElementById("since").textContent) > 2`)
	require.Contains(t, eval[string](b, `document.getElementById("provenance").textContent`), "VIRTUAL")
	require.Equal(t, "1480", eval[string](b, `document.getElementById("set").textContent`))
	b.shootAll(dir, "live")
	b.do(chromedp.Click(chromedp.CSS("#stop")))
	require.Equal(t, exitStopped, <-code, errs.String())
	b.until(`document.getElementById("outcome").textContent === "stopped"`)
	b.shoot(dir, "live-stopped")
	b.until(`document.getElementById("stop").textContent === "The run is over"`)
	require.True(t, eval[bool](b, `document.getElementById("lost").hidden`))
	b.quiet(address)

	rec, err := runlog.Find(records, runlog.Last)
	require.NoError(t, err)
	require.Equal(t, runlog.Stopped, rec.Reason())
}

// A run that comes to its end shows its result, and the page stays readable
// when the program has gone.
func TestLivePageShowsTheResult(t *testing.T) {
	b := openBrowser(t)
	errs, code := newShared(), make(chan int, 1)
	var out strings.Builder
	go func() {
		code <- run(context.Background(), []string{"selftest", "--virtual", "--live", "--records", t.TempDir()},
			streams{in: strings.NewReader(""), out: &out, err: errs})
	}()
	address := errs.address(t)
	b.do(chromedp.EmulateViewport(1240, 900), chromedp.Navigate(address))
	require.Equal(t, exitPass, <-code, errs.String())
	b.until(`document.getElementById("outcome").textContent === "✓ pass"`)
	b.until(`document.getElementById("stop").textContent === "The run is over"`)
	require.Contains(t, eval[string](b, `document.getElementById("measures").innerText`), "stick pulses missing")
	require.True(t, eval[bool](b, `document.getElementById("lost").hidden`))
	b.shootAll(pictures(t), "live-result")
	b.quiet(address)
}

// A question is answered with a button.
func TestLivePageAnswersAQuestion(t *testing.T) {
	b := openBrowser(t)
	p := live.New(func() {})
	server, err := live.Serve(p)
	require.NoError(t, err)
	defer func() { require.NoError(t, server.Close(context.Background())) }()
	bench := &procedure.Bench{}
	p.Watch(bench)
	_, err = bench.Record(runlog.Info{Procedure: "tune", Speed: "hover", Board: "COM3", TickHz: 16_000_000})
	require.NoError(t, err)
	b.do(chromedp.EmulateViewport(1240, 900), chromedp.Navigate(server.URL()))
	b.until(`document.getElementById("where").textContent.includes("COM3")`)
	ask := func(q procedure.Question) <-chan string {
		came := make(chan string, 1)
		go func() {
			text, err := p.Ask(func(context.Context, procedure.Question) (string, error) { return "", procedure.ErrNotAsked })(b.ctx, q)
			came <- errorOr(text, err)
		}()
		return came
	}
	came := ask(procedure.Question{
		Key:     "gain",
		Text:    "Turn the governor's gain by one step of your own choice, and say which way you turned it.",
		Answers: []string{"up", "down", "stop"}, Default: "stop",
	})
	b.do(chromedp.WaitVisible(chromedp.CSS("#answers button")))
	b.shoot(pictures(t), "live-question")
	b.do(chromedp.Click(chromedp.CSS("#answers button:nth-child(2)")))
	require.Equal(t, "down", <-came)
	b.do(chromedp.WaitNotVisible(chromedp.CSS("#ask")))

	came = ask(procedure.Question{Key: "turning", Text: "How fast is the shaft turned, in rpm?"})
	b.do(chromedp.WaitVisible(chromedp.CSS("#answers input")), chromedp.SendKeys(chromedp.CSS("#answers input"), "3000\r"))
	require.Equal(t, "3000", <-came)
	b.quiet(server.URL())
}

func errorOr(text string, err error) string {
	if err != nil {
		return err.Error()
	}
	return text
}

// A line that nobody waits for any more goes to whoever asks next.
func TestLinesAreNotLost(t *testing.T) {
	in := newPipe()
	l := newLines(in)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := l.next(ctx)
	require.ErrorIs(t, err, context.Canceled)
	in.text <- "yes\n"
	text, err := l.next(context.Background())
	require.NoError(t, err)
	require.Equal(t, "yes\n", text)
	close(in.text)
	_, err = l.next(context.Background())
	require.Error(t, err)
}

// pipe is an input that gives what comes.
type pipe struct{ text chan string }

func newPipe() *pipe { return &pipe{make(chan string)} }

func (p *pipe) Read(b []byte) (int, error) {
	text, ok := <-p.text
	if !ok {
		return 0, errors.New("closed")
	}
	return copy(b, text), nil
}
