package live

import (
	"sync"

	"govrig/rig/execution"
	"govrig/sim/machine"
)

// Page is what browsers see of procedures that run one after the other. Its
// methods may be used from any goroutine.
type Page struct {
	stop func()

	mu      sync.Mutex
	state   State
	version int // of state
	rate    float64
	machine *machine.Machine
	taking  taking
	recent  []Point
	clients map[*client]struct{}
	asked   *asked
	closing chan struct{}
	closed  bool
	changed chan struct{} // closed when a browser comes or goes
}

// New gives a page. stop is called when the person presses the stop button.
func New(stop func()) *Page {
	return &Page{
		state: State{Phases: []Phase{}, Said: []string{}}, stop: stop, clients: map[*client]struct{}{},
		closing: make(chan struct{}), changed: make(chan struct{}),
	}
}

// keep is how much is kept for a browser that comes later.
const (
	keepPoints = 1200 // a minute
	keepLines  = 200  // sentences, phases
)

// update changes the state and tells the browsers.
func (p *Page) update(change func(*State)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	change(&p.state)
	p.tell()
}

// tell wakes the browsers' goroutines for a new state. p.mu is held.
func (p *Page) tell() {
	p.version++
	for c := range p.clients {
		c.ring()
	}
}

// Anew forgets what was, for a walk that begins.
func (p *Page) Anew() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.state = State{Walking: true}
	p.begin(State{})
	p.tell()
}

// Over tells that the walk is over.
func (p *Page) Over() { p.update(func(s *State) { s.Walking, s.Stopping = false, false }) }

// Begins tells which step of how many begins, counted from 1, and what it is
// called.
func (p *Page) Begins(step, of int, title string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begin(State{Title: title})
	p.state.Step, p.state.Steps = step, of
	p.tell()
}

// Stopping reports whether the stop button has been pressed, and how far the
// run had come then, s.
func (p *Page) Stopping() (at float64, pressed bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.state.StoppedAt, p.state.Stopping
}

// press presses the stop button.
func (p *Page) press() {
	p.update(func(s *State) {
		if !s.Stopping {
			s.Stopping, s.StoppedAt = true, p.taking.last.Time
		}
	})
	p.stop()
}

// Finished shows what came of a procedure. r may be nil when there is nothing
// but an error.
func (p *Page) Finished(r *execution.Run, err error) {
	end := ending(r, err)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.endPhase()
	if p.state.End != nil || p.state.Procedure == "" { // it never began
		p.begin(State{})
	}
	p.state.End = end
	p.tell()
}
