package live

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"

	"govrig/protocol/harmless"
)

// Bounds of what the page keeps for its browsers.
const (
	mostClients = 8
	mostPending = 400 // points: twenty seconds
)

// client is a browser that has the page open.
type client struct {
	wake   chan struct{} // holds one ring
	points []Point       // that it has not got yet, oldest first
	seen   int           // version of the state that it has
	anew   bool          // the points that it has are of another procedure
}

// ring wakes the client's goroutine; it never waits.
func (c *client) ring() {
	select {
	case c.wake <- struct{}{}:
	default:
	}
}

// add adds a point, in the place of the oldest when there are too many.
func (c *client) add(point Point) {
	if len(c.points) == mostPending {
		c.points = c.points[:copy(c.points, c.points[1:])]
	}
	c.points = append(c.points, point)
	c.ring()
}

var errCrowd = errors.New("too many browsers have the page open")

// join lets a browser in. It gets the points that are kept.
func (p *Page) join() (*client, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.clients) >= mostClients || p.closed {
		return nil, errCrowd
	}
	c := &client{wake: make(chan struct{}, 1), points: make([]Point, 0, mostPending), seen: -1, anew: true}
	c.points = append(c.points, last(p.recent, mostPending)...)
	p.clients[c] = struct{}{}
	p.moved()
	c.ring()
	return c, nil
}

func (p *Page) leave(c *client) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.clients, c)
	p.moved()
}

// moved tells that a browser came or went. p.mu is held.
func (p *Page) moved() {
	close(p.changed)
	p.changed = make(chan struct{})
}

// news is what a client has not got yet.
type news struct {
	state  *State
	points []Point
	anew   bool // forget the points from before
}

// take takes the news for a client; into is room for the points.
func (p *Page) take(c *client, into []Point) news {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := news{points: append(into[:0], c.points...), anew: c.anew}
	c.points, c.anew = c.points[:0], false
	if c.seen != p.version {
		state := p.state
		n.state, c.seen = &state, p.version
	}
	return n
}

// stream writes news to a browser, as server-sent events (WHATWG HTML, 9.2),
// until it goes or the page closes.
func (p *Page) stream(w http.ResponseWriter, r *http.Request) {
	c, err := p.join()
	if err != nil {
		http.Error(w, err.Error(), http.StatusServiceUnavailable)
		return
	}
	defer p.leave(c)
	w.Header().Set("Content-Type", "text/event-stream")
	flush := http.NewResponseController(w)
	room := make([]Point, 0, mostPending)
	for last := false; !last; {
		select {
		case <-c.wake:
		case <-p.closing:
			last = true
		case <-r.Context().Done():
			return
		}
		if write(w, p.take(c, room)) != nil || flush.Flush() != nil {
			return
		}
	}
}

// write writes news as events.
func write(w io.Writer, n news) error {
	if n.state != nil {
		if err := event(w, "state", n.state); err != nil {
			return err
		}
	}
	if n.anew {
		if err := event(w, "anew", struct{}{}); err != nil {
			return err
		}
	}
	if len(n.points) > 0 {
		return event(w, "points", n.points)
	}
	return nil
}

func event(w io.Writer, name string, data any) error {
	text, err := json.Marshal(data) // one line
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(harmless.NewWriter(w), "event: %s\ndata: %s\n\n", name, text)
	return err
}
