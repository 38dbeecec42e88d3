package workbench

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	"govrig/rig/commission"
	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/rig/procedure/byhand"
	"govrig/rig/show/live"
	"govrig/sim/machine"
)

// Options are what the page works with.
type Options struct {
	// Folder is where machine files are, Records where records are kept.
	Folder, Records string
	// Machine is the path of the machine file to begin with; empty asks.
	Machine string
	// Virtual begins without hardware.
	Virtual bool
	// Notes is where the program's window says what goes on.
	Notes io.Writer
	// After is time.After.
	After func(time.Duration) <-chan time.Time
	// Bench opens the bench for a procedure, on which page looks on.
	Bench func(ctx context.Context, p *execution.Procedure, o execution.Options, m *machine.Machine, virtual bool, page *live.Page) (*execution.Bench, error)
}

// Workbench is the state that every window shows. Its methods may be used from
// any goroutine.
type Workbench struct {
	options Options
	page    *live.Page

	mu      sync.Mutex
	hold    *byhand.Hold // of the person's hands, or nil
	seen    byhand.Seen
	machine string // path of the file
	virtual bool
	stop    func() // of the walk under way, or nil
	walking sync.WaitGroup
	closed  bool
}

// New gives a workbench.
func New(o Options) *Workbench {
	w := &Workbench{options: o, machine: o.Machine, virtual: o.Virtual}
	w.page = live.New(w.Stop)
	return w
}

// Page is the run as browsers see it.
func (w *Workbench) Page() *live.Page { return w.page }

// Stop stops what is under way, if anything is.
func (w *Workbench) Stop() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.stop != nil {
		w.stop()
	}
}

// Close stops what is under way, waits for its end, and begins nothing more.
func (w *Workbench) Close() {
	w.mu.Lock()
	w.closed = true
	w.mu.Unlock()
	w.Stop()
	w.walking.Wait()
}

// chosen is the machine file and whether hardware takes part.
func (w *Workbench) chosen() (path string, virtual bool) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.machine, w.virtual
}

var (
	errBusy     = errors.New("a test is under way; stop it first")
	errNoMine   = errors.New("choose a machine first")
	errNotThere = errors.New("there is no such machine file in this folder")
)

// choose takes a machine file of the folder, or changes whether hardware takes
// part; not while a test is under way.
func (w *Workbench) choose(path string, virtual bool) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.stop != nil {
		return errBusy
	}
	w.machine, w.virtual = path, virtual
	return nil
}

// files are the names of the machine files in the folder.
func (w *Workbench) files() (names []string) {
	paths, _ := filepath.Glob(filepath.Join(w.options.Folder, "*.yaml")) // the pattern is in order
	for _, path := range paths {
		names = append(names, filepath.Base(path))
	}
	return names
}

// text is the machine file as it stands.
func (w *Workbench) text() (path, text string, err error) {
	path, _ = w.chosen()
	if path == "" {
		return "", "", errNoMine
	}
	b, err := os.ReadFile(path)
	return path, string(b), err
}

// state is how far the machine has come. The error is that of its file, too.
func (w *Workbench) state() (*machine.Machine, *commission.State, error) {
	path, virtual := w.chosen()
	if path == "" {
		return nil, nil, errNoMine
	}
	m, err := machine.Load(path)
	if err != nil {
		return nil, nil, err
	}
	s, err := commission.Open(w.options.Records, m, virtual, procedure.All)
	return m, s, err
}

// walk begins to do the steps that are left, or the one that is named, whether
// it has passed or not.
func (w *Workbench) walk(only string) error {
	m, s, err := w.state()
	if err != nil {
		return err
	}
	if only != "" && procedure.All.Find(only) == nil {
		return errors.New("there is no such step")
	}
	return w.begin(nil, func(ctx context.Context, virtual bool) error {
		steps := commission.Walk{
			State: s, Procedures: procedure.All, Notes: w.options.Notes, Virtual: virtual, Only: only,
			Ask: w.page.AskHere, Finished: w.page.Finished,
			Begins: func(i int, p *execution.Procedure) { w.page.Begins(i+1, len(procedure.All), p.Title) },
			Bench: func(ctx context.Context, p *execution.Procedure, o execution.Options) (*execution.Bench, error) {
				return w.options.Bench(ctx, p, o, m, virtual, w.page)
			},
		}
		err := steps.Go(ctx)
		var unfinished *commission.UnfinishedError
		if errors.As(err, &unfinished) || errors.Is(err, commission.ErrStopped) {
			return nil // it is shown already
		}
		return err
	})
}

// begin does something on the board that nothing else may do beside it, until it
// ends or is stopped. Hold is that of the person's hands, where they are in it.
func (w *Workbench) begin(hold *byhand.Hold, do func(ctx context.Context, virtual bool) error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case w.stop != nil:
		return errBusy
	case w.closed:
		return errors.New("the program is about to end")
	}
	ctx, cancel := context.WithCancel(context.Background())
	virtual := w.virtual
	w.stop, w.hold = cancel, hold
	w.page.Anew()
	w.walking.Go(func() {
		if err := do(ctx, virtual); err != nil {
			w.page.Finished(nil, err)
		}
		cancel()
		w.mu.Lock()
		defer w.mu.Unlock()
		w.stop, w.hold = nil, nil
		w.page.Over()
	})
	return nil
}
