package live

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"net"
	"net/http"
	"strings"
	"time"

	"govrig/protocol/harmless"
	"govrig/rig/pen"
)

//go:embed page
var files embed.FS

var page = template.Must(template.New("live.html").ParseFS(files, "page/live.html"))

func text(name string) string {
	b, err := files.ReadFile("page/" + name)
	if err != nil {
		panic(err) // it is embedded
	}
	return string(b)
}

var style, script = pen.Style() + template.CSS(text("live.css")), template.JS(text("live.js"))

// Server serves a page to this computer.
type Server struct {
	page   *Page
	token  string
	port   string
	server http.Server
	ended  chan struct{} // closed when the serving has ended
	err    error         // with which it did
}

// headerTime is how long a request may take to say what it wants.
const headerTime = 5 * time.Second

// Serve begins to serve p on a free port of the loopback address.
func Serve(p *Page) (*Server, error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	_, port, err := net.SplitHostPort(listener.Addr().String())
	if err != nil {
		return nil, errors.Join(err, listener.Close())
	}
	s := &Server{page: p, token: rand.Text(), port: port, ended: make(chan struct{})}
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
	switch r.Method + " " + name {
	case "GET ":
		s.show(w)
	case "GET events":
		s.page.stream(w, r)
	case "POST answer":
		s.answer(w, r)
	case "POST stop":
		s.page.press()
		w.WriteHeader(http.StatusNoContent)
	default:
		http.NotFound(w, r)
	}
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

// show sends the page itself.
func (s *Server) show(w http.ResponseWriter) {
	nonce := rand.Text()
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Security-Policy", fmt.Sprintf(
		"default-src 'none'; style-src 'nonce-%s'; script-src 'nonce-%s'; connect-src 'self'; img-src data:; "+
			"base-uri 'none'; form-action 'none'; frame-ancestors 'none'", nonce, nonce))
	_ = page.Execute(harmless.NewWriter(w), struct {
		Nonce  string
		Style  template.CSS
		Script template.JS
	}{nonce, style, script}) // a browser that has gone needs no page
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
