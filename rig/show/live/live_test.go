package live

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/loadstep"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/emulator"
	"govrig/sim/standin/governor"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const hz = 16_000_000

// served is a page on a server, closed at the end of the test.
func served(t *testing.T, stop func()) (*Page, *Server) {
	t.Helper()
	p := New(stop)
	s, err := Serve(p, nil)
	require.NoError(t, err)
	t.Cleanup(func() {
		ctx, cancel := context.WithCancel(context.Background())
		cancel() // no patience
		err := s.Close(ctx)
		require.True(t, err == nil || errors.Is(err, context.Canceled), "%v", err)
	})
	return p, s
}

// watched is a bench that a page looks on at.
func watched(t *testing.T, p *Page) *execution.Bench {
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	g, err := governor.New(m.GovernorParams(board.TickHz), 0)
	require.NoError(t, err)
	b := &execution.Bench{Machine: m, Board: board.New(board.Options{Governor: g}), Where: "virtual", StandIn: g}
	p.Watch(b)
	return b
}

// begin tells a page of a procedure without running one.
func begin(t *testing.T, p *Page) (sample func(i int, phase string)) {
	b := &execution.Bench{}
	p.Watch(b)
	w, err := b.Record(runlog.Info{Procedure: "hold", Virtual: true, Board: "virtual", TickHz: hz})
	require.NoError(t, err)
	require.Nil(t, w)
	s := &runlog.Sample{}
	return func(i int, phase string) {
		s.Ticks = int64(i) * 32_000
		s.State.HeadSpeed = 100 + float64(i)
		b.Progress(phase, s)
	}
}

// stream is a browser that reads.
type stream struct {
	t    *testing.T
	body io.ReadCloser
	r    *bufio.Reader
}

func listen(t *testing.T, s *Server) *stream {
	t.Helper()
	r, err := http.Get(s.URL() + "events")
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, r.StatusCode)
	require.Equal(t, "text/event-stream", r.Header.Get("Content-Type"))
	t.Cleanup(func() { _ = r.Body.Close() })
	return &stream{t, r.Body, bufio.NewReader(r.Body)}
}

// next gives the next event.
func (s *stream) next() (name string, data []byte, err error) {
	for {
		line, err := s.r.ReadString('\n')
		if err != nil {
			return "", nil, err
		}
		line = strings.TrimSuffix(line, "\n")
		if after, ok := strings.CutPrefix(line, "event: "); ok {
			name = after
		}
		if after, ok := strings.CutPrefix(line, "data: "); ok {
			data = []byte(after)
		}
		if line == "" {
			return name, data, nil
		}
	}
}

// state reads on until a state is as wanted.
func (s *stream) state(wanted func(*State) bool) *State {
	s.t.Helper()
	for {
		name, data, err := s.next()
		require.NoError(s.t, err)
		if name != "state" {
			continue
		}
		var state State
		require.NoError(s.t, json.Unmarshal(data, &state))
		if wanted(&state) {
			return &state
		}
	}
}

func ask(t *testing.T, method, url, body string, change func(*http.Request)) *http.Response {
	t.Helper()
	r, err := http.NewRequest(method, url, strings.NewReader(body))
	require.NoError(t, err)
	if method == http.MethodPost {
		r.Header.Set("Origin", url[:strings.Index(url[7:], "/")+7])
	}
	if change != nil {
		change(r)
	}
	answer, err := http.DefaultTransport.RoundTrip(r)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	return answer
}

// Who may ask, and who may not.
func TestOnlyThisPageOnThisComputer(t *testing.T) {
	stopped := 0
	_, s := served(t, func() { stopped++ })
	url := s.URL()
	other := strings.Replace(url, s.token, strings.Repeat("A", len(s.token)), 1)
	tests := map[string]struct {
		method, url string
		change      func(*http.Request)
		want        int
	}{
		"the page":                  {"GET", url, nil, 200},
		"by the name localhost":     {"GET", url, func(r *http.Request) { r.Host = "localhost:" + s.port }, 200},
		"stop":                      {"POST", url + "stop", nil, 204},
		"a wrong token":             {"GET", other, nil, 404},
		"stop with a wrong token":   {"POST", other + "stop", nil, 404},
		"no token":                  {"GET", "http://127.0.0.1:" + s.port + "/", nil, 404},
		"a part of the token":       {"GET", url[:len(url)-2] + "/", nil, 404},
		"another name for the host": {"GET", url, func(r *http.Request) { r.Host = "rebound.example:" + s.port }, 403},
		"another port":              {"GET", url, func(r *http.Request) { r.Host = "127.0.0.1:1" }, 403},
		"a page from elsewhere":     {"POST", url + "stop", func(r *http.Request) { r.Header.Set("Origin", "http://evil.example") }, 403},
		"another program's page":    {"POST", url + "stop", func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") }, 403},
		"a page without an origin":  {"POST", url + "stop", func(r *http.Request) { r.Header.Set("Origin", "null") }, 403},
		"no origin at all":          {"POST", url + "stop", func(r *http.Request) { r.Header.Del("Origin") }, 403},
		"events from elsewhere":     {"GET", url + "events", func(r *http.Request) { r.Header.Set("Origin", "http://evil.example") }, 403},
		"stop by a link":            {"GET", url + "stop", nil, 404},
		"something else":            {"GET", url + "../secret", nil, 404},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			before := stopped
			r := ask(t, tt.method, tt.url, "", tt.change)
			require.Equal(t, tt.want, r.StatusCode)
			require.Equal(t, "no-store", r.Header.Get("Cache-Control"))
			require.Equal(t, "no-referrer", r.Header.Get("Referrer-Policy"))
			require.Empty(t, r.Header.Get("Access-Control-Allow-Origin"))
			if tt.want == 204 {
				before++
			}
			require.Equal(t, before, stopped)
		})
	}
}

// A request that did not come over the loopback address is refused, whatever
// it says.
func TestLoopbackOnly(t *testing.T) {
	_, s := served(t, func() {})
	for address, want := range map[string]int{"127.0.0.1:5": 200, "[::1]:5": 200, "192.168.1.7:5": 403, "[fe80::1]:5": 403, "nonsense": 403} {
		r := httptest.NewRequest("GET", s.URL(), nil)
		r.RemoteAddr = address
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		require.Equal(t, want, w.Code, address)
	}
	host, _, err := net.SplitHostPort(strings.TrimPrefix(strings.TrimSuffix(s.URL(), "/"+s.token+"/"), "http://"))
	require.NoError(t, err)
	require.True(t, net.ParseIP(host).IsLoopback())
}

// Each page has another token, and its scripts come from itself only.
func TestPageIsItsOwn(t *testing.T) {
	_, a := served(t, func() {})
	_, b := served(t, func() {})
	require.NotEqual(t, a.token, b.token)
	require.GreaterOrEqual(t, len(a.token), 26) // base32: 130 bits
	r, err := http.Get(a.URL())
	require.NoError(t, err)
	text, err := io.ReadAll(r.Body)
	require.NoError(t, errors.Join(err, r.Body.Close()))
	policy := r.Header.Get("Content-Security-Policy")
	require.Contains(t, policy, "default-src 'none'")
	require.NotContains(t, policy, "unsafe")
	require.NotRegexp(t, `(?i)https?://|src="[^"]*[/:]|@import|url\(`, string(text))
}

// A whole procedure, seen by a browser: what is found, its phases, and its
// result, which is there before the page closes.
func TestBrowserSeesTheWholeRun(t *testing.T) {
	p, s := served(t, func() {})
	b := watched(t, p)
	browser := listen(t, s)
	r, err := (&loadstep.Options{Brief: true}).Run(context.Background(), b)
	require.NoError(t, err)
	p.Finished(r, nil)
	done := make(chan error)
	go func() { done <- s.Close(context.Background()) }()
	state := browser.state(func(s *State) bool { return s.End != nil })
	require.True(t, state.Virtual)
	require.Contains(t, state.Provenance, "VIRTUAL")
	require.Equal(t, "loadstep", state.Procedure)
	require.Equal(t, "hover", state.Setting)
	require.Equal(t, r.Found, state.Said)
	require.Equal(t, "pass", state.End.Class)
	require.Len(t, state.End.Rows, len(r.Result.Measures))
	var names []string
	for _, phase := range state.Phases {
		names = append(names, phase.Name)
	}
	require.Equal(t, []string{"idle", "spool-up", "change of speed 1", "after", "settle try 1", "try 1", "steady", "load on", "load off"}, names)
	require.InDelta(t, 1480, state.Phases[6].Mean, 5)
	for err == nil {
		_, _, err = browser.next()
	}
	require.ErrorIs(t, err, io.EOF, "the stream ends in good order")
	require.NoError(t, <-done)
}

// The set speed is what the select pulse asks for.
func TestSetSpeedIsWhatTheSelectPulseAsksFor(t *testing.T) {
	p, s := served(t, func() {})
	b := watched(t, p)
	_, err := (&loadstep.Options{Brief: true}).Run(context.Background(), b)
	require.NoError(t, err)
	browser := listen(t, s)
	for {
		name, data, err := browser.next()
		require.NoError(t, err)
		if name != "points" {
			continue
		}
		var points []Point
		require.NoError(t, json.Unmarshal(data, &points))
		require.LessOrEqual(t, len(points), mostPending)
		last := points[len(points)-1]
		require.InDelta(t, 1480, last.Set, 1)
		require.InDelta(t, 1480, last.Head, 20)
		require.InDelta(t, 1, last.Load, 1e-6)
		return
	}
}

// A browser that does not read keeps nothing waiting and costs no room: it loses
// the oldest points, and still gets the newest state.
func TestSlowReaderStallsNothing(t *testing.T) {
	p := New(func() {})
	sample := begin(t, p)
	c, err := p.join()
	require.NoError(t, err)
	for i := range 100_000 {
		sample(i, "steady")
	}
	require.LessOrEqual(t, len(c.points), mostPending)
	require.Equal(t, mostPending, cap(c.points), "it has not grown")
	require.LessOrEqual(t, cap(p.recent), 2*keepPoints)
	n := p.take(c, nil)
	require.Len(t, n.points, mostPending)
	require.InDelta(t, 99_999*0.002, n.points[mostPending-1].Time, pointEvery)
	require.Equal(t, "steady", n.state.Phase)
	p.leave(c)
}

// A browser that has its connection open and never reads does not stall the
// run, nor the closing.
func TestStuckBrowserStallsNothing(t *testing.T) {
	p, s := served(t, func() {})
	sample := begin(t, p)
	conn, err := net.Dial("tcp", "127.0.0.1:"+s.port)
	require.NoError(t, err)
	defer conn.Close()
	_, err = io.WriteString(conn, "GET /"+s.token+"/events HTTP/1.1\r\nHost: 127.0.0.1:"+s.port+"\r\n\r\n")
	require.NoError(t, err)
	for {
		if here, changed := p.watched(); here {
			break
		} else {
			<-changed
		}
	}
	for i := range 200_000 {
		if i%1000 == 0 { // a state is the larger message
			p.update(func(s *State) { s.Said = last(append(s.Said, strings.Repeat("x", 2000)), keepLines) })
		}
		sample(i, "steady")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	err = s.Close(ctx)
	require.True(t, err == nil || errors.Is(err, context.Canceled), "%v", err)
}

// There is room for a few browsers, and no more.
func TestCrowd(t *testing.T) {
	p, s := served(t, func() {})
	var all []*client
	for range mostClients {
		c, err := p.join()
		require.NoError(t, err)
		all = append(all, c)
	}
	require.Equal(t, http.StatusServiceUnavailable, ask(t, "GET", s.URL()+"events", "", nil).StatusCode)
	for _, c := range all {
		p.leave(c)
	}
	_, err := p.join()
	require.NoError(t, err)
}

// The stop button ends the run, on the virtual board and on the real firmware in
// the emulator: within one failsafe time of the board's clock the board says
// that it plays nothing any more.
func TestStopButtonStopsTheRun(t *testing.T) {
	for name, put := range map[string]func(*testing.T, *execution.Bench){
		"virtual": func(*testing.T, *execution.Bench) {}, "emulated": emulated,
	} {
		t.Run(name, func(t *testing.T) {
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			p, s := served(t, stop)
			b := watched(t, p)
			put(t, b)
			progress := b.Progress
			var once sync.Once
			b.Progress = func(phase string, sample *runlog.Sample) {
				progress(phase, sample)
				if phase == "spool-up" {
					once.Do(func() {
						require.Equal(t, http.StatusNoContent, ask(t, "POST", s.URL()+"stop", "{}", nil).StatusCode)
					})
				}
			}
			r, err := (&loadstep.Options{}).Run(ctx, b)
			require.EqualError(t, err, context.Canceled.Error(), "nothing else: the board has said that it is safe")
			p.Finished(r, err)
			at, pressed := p.Stopping()
			require.True(t, pressed)
			const failsafe = 0.1 // s, the usual
			require.Less(t, r.Trace.Time[len(r.Trace.Time)-1]-at, failsafe)
			state := listen(t, s).state(func(s *State) bool { return s.End != nil })
			require.Equal(t, "stopped", state.End.Class)
			require.True(t, state.Stopping)
		})
	}
}

// emulated puts the real firmware on the bench.
func emulated(t *testing.T, b *execution.Bench) {
	const notes = "../../../firmware-notes"
	harness, err := emulator.Build(filepath.Join(notes, "emulator"))
	require.NoError(t, err)
	b.Board, err = emulator.Open(emulator.Options{
		Harness: harness, Firmware: filepath.Join(notes, "firmware", "firmware.hex"), Governor: b.StandIn,
	})
	require.NoError(t, err)
	b.Where = "emulated"
}

// nobody is there at the terminal.
func nobody(context.Context, execution.Question) (string, error) { return "", execution.ErrNotAsked }

var question = execution.Question{Key: "gain", Text: "Which way?", Answers: []string{"up", "down"}, Default: "up"}

// replied is what came of asking.
type replied struct {
	text string
	err  error
}

func asking(p *Page, ctx context.Context, other Asker, q execution.Question) <-chan replied {
	came := make(chan replied, 1)
	go func() {
		text, err := p.Ask(other)(ctx, q)
		came <- replied{text, err}
	}()
	return came
}

func TestQuestionIsAnsweredOnThePage(t *testing.T) {
	p, s := served(t, func() {})
	begin(t, p)
	browser := listen(t, s)
	came := asking(p, context.Background(), nobody, question)
	state := browser.state(func(s *State) bool { return s.Question != nil })
	require.Equal(t, []string{"up", "down"}, state.Question.Answers)
	answer := func(number int, text string) int {
		body, err := json.Marshal(map[string]any{"number": number, "answer": text})
		require.NoError(t, err)
		return ask(t, "POST", s.URL()+"answer", string(body), nil).StatusCode
	}
	require.Equal(t, http.StatusConflict, answer(state.Question.Number, "sideways"))
	require.Equal(t, http.StatusConflict, answer(state.Question.Number+1, "down"))
	require.Equal(t, http.StatusBadRequest, ask(t, "POST", s.URL()+"answer", "{", nil).StatusCode)
	require.Equal(t, http.StatusNoContent, answer(state.Question.Number, "down"))
	require.Equal(t, replied{"down", nil}, <-came)
	browser.state(func(s *State) bool { return s.Question == nil })
	require.Equal(t, http.StatusConflict, answer(state.Question.Number, "down"), "it is answered already")
}

func TestQuestionIsAnsweredElsewhere(t *testing.T) {
	p, _ := served(t, func() {})
	begin(t, p)
	here := func(context.Context, execution.Question) (string, error) { return "up", nil }
	require.Equal(t, replied{"up", nil}, <-asking(p, context.Background(), here, question))
	require.Nil(t, p.state.Question)
}

// Nobody at the terminal and no browser is nobody; a browser that goes while
// the question waits leaves nobody too.
func TestNobodyIsThere(t *testing.T) {
	p, s := served(t, func() {})
	begin(t, p)
	require.ErrorIs(t, (<-asking(p, context.Background(), nobody, question)).err, execution.ErrNotAsked)
	browser := listen(t, s)
	came := asking(p, context.Background(), nobody, question)
	browser.state(func(s *State) bool { return s.Question != nil })
	require.NoError(t, browser.body.Close())
	require.ErrorIs(t, (<-came).err, execution.ErrNotAsked)
}

// The stop button ends a question, too, and lets go of the terminal.
func TestStopEndsAQuestion(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	p, _ := served(t, stop)
	begin(t, p)
	let := make(chan struct{})
	waiting := func(ctx context.Context, _ execution.Question) (string, error) {
		<-ctx.Done()
		close(let)
		return "", ctx.Err()
	}
	came := asking(p, ctx, waiting, question)
	p.press()
	require.ErrorIs(t, (<-came).err, context.Canceled)
	<-let
}

// A procedure that never began still has its end on the page, and the next one
// begins anew.
func TestOneProcedureAfterTheOther(t *testing.T) {
	p := New(func() {})
	p.Finished(nil, errors.New("no board"))
	require.Equal(t, "no board", p.state.End.Error)
	sample := begin(t, p)
	require.Nil(t, p.state.End)
	sample(0, "idle")
	sample(1, "steady")
	p.Finished(&execution.Run{Result: measure.Result{Outcome: measure.NotRun}}, nil)
	require.Equal(t, "notrun", p.state.End.Class)
	require.Len(t, p.state.Phases, 2)
}

func BenchmarkSample(b *testing.B) {
	p := New(func() {})
	bench := &execution.Bench{}
	p.Watch(bench)
	_, err := bench.Record(runlog.Info{Procedure: "hold", TickHz: hz})
	require.NoError(b, err)
	_, err = p.join()
	require.NoError(b, err)
	s := &runlog.Sample{}
	b.ReportAllocs()
	for b.Loop() {
		s.Ticks += 32_000
		bench.Progress("steady", s)
	}
}
