package live

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"embed"
	"encoding/json"
	"errors"
	"html/template"
	"io"
	"net"
	"net/http"
	"strings"
	"time"

	"govrig/protocol/harmless"
	"govrig/rig/pen"
)

//go:embed page
var files embed.FS

var page = Template("live.html")

// Template is the page of a run as a template: "run" is what a page shows of it,
// for other pages that show it too. They need run.css and run.js.
func Template(name string) *template.Template {
	return template.Must(template.New(name).ParseFS(files, "page/run.html", "page/live.html"))
}

func text(name string) string {
	b, err := files.ReadFile("page/" + name)
	if err != nil {
		panic(err) // it is embedded
	}
	return string(b)
}

var style, script = string(pen.Style()) + text("live.css"), text("live.js")

// Server serves a page to this computer.
type Server struct {
	page   *Page
	rooms  http.Handler // what else is served, nil is nothing
	token  string
	port   string
	server http.Server
	ended  chan struct{} // closed when the serving has ended
	err    error         // with which it did
}

// headerTime is how long a request may take to say what it wants.
const headerTime = 5 * time.Second

// Serve begins to serve p on a free port of the loopback address. Rooms, where
// not nil, answers what p does not, the first page among it; the paths that it
// sees begin behind the token.
func Serve(p *Page, rooms http.Handler) (*Server, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	_, port, err := net.SplitHostPort(listener.Addr().String())
	if err != nil {
		return nil, errors.Join(err, listener.Close())
	}
	s := &Server{page: p, rooms: rooms, token: rand.Text(), port: port, ended: make(chan struct{})}
	s.server.Handler, s.server.ReadHeaderTimeout = s, headerTime
	go func() {
		defer close(s.ended)
		s.err = s.server.Serve(listener)
	}()
	return s, nil
}

// URL is the address of the page.
func (s *Server) URL() string { return "http://127.0.0.1:" + s.port + "/" + s.token + "/" }

// Close lets the browsers have what they have not got yet, as long as ctx
// lasts, and ends the serving.
func (s *Server) Close(ctx context.Context) error {
	s.page.close()
	err := s.server.Shutdown(ctx)
	if errors.Is(err, context.DeadlineExceeded) {
		err = nil // a browser that does not read is left to itself
	}
	err = errors.Join(err, s.server.Close())
	if <-s.ended; !errors.Is(s.err, http.ErrServerClosed) {
		err = errors.Join(err, s.err)
	}
	return err
}

func (p *Page) close() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.closed {
		p.closed = true
		close(p.closing)
	}
}

// ServeHTTP answers those who may ask.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Cache-Control", "no-store")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	if !s.local(r) {
		http.Error(w, "this page is for this computer only", http.StatusForbidden)
		return
	}
	token, name, _ := strings.Cut(strings.TrimPrefix(r.URL.Path, "/"), "/")
	if subtle.ConstantTimeCompare([]byte(token), []byte(s.token)) != 1 {
		http.NotFound(w, r)
		return
	}
	h.Set("Content-Security-Policy", policy)
	switch r.Method + " " + name {
	case "GET run.js":
		send(w, "text/javascript", script)
	case "GET run.css":
		send(w, "text/css", style)
	case "GET events":
		s.page.stream(w, r)
	case "POST answer":
		s.answer(w, r)
	case "POST stop":
		s.page.press()
		w.WriteHeader(http.StatusNoContent)
	default:
		s.other(w, r, name)
	}
}

// other answers what is not of the run itself.
func (s *Server) other(w http.ResponseWriter, r *http.Request, name string) {
	switch {
	case s.rooms != nil:
		r.URL.Path = "/" + name
		s.rooms.ServeHTTP(w, r)
	case r.Method+" "+name == "GET ":
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		_ = page.Execute(harmless.NewWriter(w), nil) // a browser that has gone needs no page
	default:
		http.NotFound(w, r)
	}
}

// policy lets a page have nothing but what this server gives (W3C Content
// Security Policy Level 3).
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self' data:; frame-src 'self'; " +
	"base-uri 'none'; form-action 'self'; frame-ancestors 'self'"

func send(w http.ResponseWriter, kind, text string) {
	w.Header().Set("Content-Type", kind+"; charset=utf-8")
	_, _ = io.WriteString(w, text) // a browser that has gone needs nothing
}

// local reports whether a request comes from a browser on this computer, and from
// this page: a page from elsewhere that has its name resolved to this computer
// has another Host, and one that sends a request across has another Origin.
func (s *Server) local(r *http.Request) bool {
	address, _, err := net.SplitHostPort(r.RemoteAddr)
	if ip := net.ParseIP(address); err != nil || ip == nil || !ip.IsLoopback() {
		return false
	}
	if r.Host != "127.0.0.1:"+s.port && r.Host != "localhost:"+s.port {
		return false
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return r.Method == http.MethodGet
	}
	return origin == "http://"+r.Host
}

// answer takes the answer to a question.
func (s *Server) answer(w http.ResponseWriter, r *http.Request) {
	var a struct {
		Number int    `json:"number"`
		Answer string `json:"answer"`
	}
	const most = 4 << 10
	if err := json.NewDecoder(http.MaxBytesReader(w, r.Body, most)).Decode(&a); err != nil {
		http.Error(w, "no answer could be read", http.StatusBadRequest)
		return
	}
	if !s.page.answer(a.Number, strings.TrimSpace(a.Answer)) {
		http.Error(w, "no such question waits, or it takes no such answer", http.StatusConflict)
		return
	}
	w.WriteHeader(http.StatusNoContent)
}
