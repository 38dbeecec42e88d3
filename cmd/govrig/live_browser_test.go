package main

import (
	"bytes"
	"context"
	"io"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/runlog"
	"govrig/rig/show/live"
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

// inBackground runs a command; what it says on standard error can be read while
// it runs.
func inBackground(args ...string) (errs *shared, code <-chan int) {
	errs = newShared()
	ended := make(chan int, 1)
	go func() {
		ended <- run(context.Background(), args, streams{in: strings.NewReader(""), out: io.Discard, err: errs})
	}()
	return errs, ended
}

// A person looks at a run and stops it: the board plays on for less than its
// failsafe time, the page says so and stays, and the record is kept.
func stopARun(t *testing.T, b *tab) {
	records := t.TempDir()
	errs, code := inBackground("loadstep", quick(t), "--virtual", "--live", "--records", records)
	address := errs.address(t)
	b.open(address)
	b.until(`document.getElementById("phase").textContent === "load on"`)
	b.until(`parseFloat(document.getElementById("since").textContent) > 2`)
	require.Contains(t, eval[string](b, `document.getElementById("provenance").textContent`), "VIRTUAL")
	require.Equal(t, "1480", eval[string](b, `document.getElementById("set").textContent`))
	b.shootAll("live")
	b.do(chromedp.Click(chromedp.CSS("#stop")))
	require.Equal(t, exitStopped, <-code, errs.String())
	b.until(`document.getElementById("outcome").textContent === "stopped"`)
	b.shoot("live-stopped")
	b.until(`document.getElementById("stop").textContent === "The run is over"`)
	require.True(t, eval[bool](b, `document.getElementById("lost").hidden`))
	b.quiet()

	rec, err := runlog.Find(records, runlog.Last)
	require.NoError(t, err)
	require.Equal(t, runlog.Stopped, rec.Reason())
}

// A run that comes to its end shows its result, and the page stays readable
// when the program has gone.
func showTheResult(t *testing.T, b *tab) {
	errs, code := inBackground("selftest", "--virtual", "--live", "--records", t.TempDir())
	address := errs.address(t)
	b.open(address)
	require.Equal(t, exitPass, <-code, errs.String())
	b.until(`document.getElementById("outcome").textContent === "✓ pass"`)
	b.until(`document.getElementById("stop").textContent === "The run is over"`)
	require.Contains(t, eval[string](b, `document.getElementById("measures").innerText`), "stick pulses missing")
	require.True(t, eval[bool](b, `document.getElementById("lost").hidden`))
	b.shootAll("live-result")
	b.quiet()
}

// A question is answered with a button.
func answerAQuestion(t *testing.T, b *tab) {
	p := live.New(func() {})
	server, err := live.Serve(p, nil)
	require.NoError(t, err)
	defer func() { require.NoError(t, server.Close(context.Background())) }()
	bench := &execution.Bench{}
	p.Watch(bench)
	_, err = bench.Record(runlog.Info{Procedure: "tune", Speed: "hover", Board: "COM3", TickHz: 16_000_000})
	require.NoError(t, err)
	b.open(server.URL())
	b.until(`document.getElementById("where").textContent.includes("COM3")`)
	ask := func(q execution.Question) <-chan string {
		came := make(chan string, 1)
		go func() {
			text, err := p.Ask(func(context.Context, execution.Question) (string, error) { return "", execution.ErrNotAsked })(b.ctx, q)
			came <- errorOr(text, err)
		}()
		return came
	}
	came := ask(execution.Question{
		Key:     "gain",
		Text:    "Turn the governor's gain by one step of your own choice, and say which way you turned it.",
		Answers: []string{"up", "down", "stop"}, Default: "stop",
	})
	b.do(chromedp.WaitVisible(chromedp.CSS("#answers button")))
	b.shoot("live-question")
	b.do(chromedp.Click(chromedp.CSS("#answers button:nth-child(2)")))
	require.Equal(t, "down", <-came)
	b.do(chromedp.WaitNotVisible(chromedp.CSS("#ask")))

	came = ask(execution.Question{Key: "turning", Text: "How fast is the shaft turned, in rpm?"})
	b.do(chromedp.WaitVisible(chromedp.CSS("#answers input")), chromedp.SendKeys(chromedp.CSS("#answers input"), "3000\r"))
	require.Equal(t, "3000", <-came)
	b.quiet()
}

func errorOr(text string, err error) string {
	if err != nil {
		return err.Error()
	}
	return text
}
