package workbench

import (
	"context"
	"errors"
	"net/http"
	"time"

	"govrig/rig/execution"
	"govrig/rig/procedure/byhand"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// deadMan is how long the page may give no sign of life before the board goes
// safe.
const deadMan = time.Second

var errNoHold = errors.New("nobody holds the controls: take them first")

// handRoom shows the controls.
func (w *Workbench) handRoom(out http.ResponseWriter, _ *http.Request) {
	m, _, err := w.state()
	data := struct {
		room
		Ready, Selects bool
		Brief          execution.Briefing
	}{room: w.room("hand", err), Ready: err == nil, Brief: byhand.Procedure.Briefing}
	if err == nil {
		data.Selects = m.Governor.Select != machine.SelectNone
	}
	show(out, "hand.html", data)
}

// postHold takes the controls: they are held as long as signs of life come. The
// person has said that all is as the page lists it.
func (w *Workbench) postHold(out http.ResponseWriter, r *http.Request) {
	var a struct {
		Safe bool `json:"safe"`
	}
	m, _, err := w.state()
	if err = errors.Join(err, posted(r, &a)); err == nil {
		err = w.take(m, a.Safe)
	}
	done(out, err)
}

func (w *Workbench) take(m *machine.Machine, safe bool) error {
	eye, err := byhand.NewEye(m)
	if err != nil {
		return err
	}
	if _, virtual := w.chosen(); !virtual && !safe {
		return errors.New("say first that all of this is so, and that no engine can run")
	}
	hold := byhand.NewHold(deadMan, w.options.After)
	return w.begin(hold, func(ctx context.Context, virtual bool) error {
		p := &byhand.Procedure
		w.page.Begins(0, 0, p.Title)
		o := p.New()
		b, err := w.options.Bench(ctx, p, o, m, virtual, w.page)
		if err != nil {
			return err
		}
		b.Ask = hold.Ask
		progress := b.Progress
		b.Progress = func(phase string, s *runlog.Sample) {
			w.mu.Lock()
			w.seen = eye.See(s)
			w.mu.Unlock()
			progress(phase, s)
		}
		run, err := o.Run(ctx, b)
		w.page.Finished(run, err)
		return nil
	})
}

func (w *Workbench) held() (*byhand.Hold, byhand.Seen, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.hold == nil {
		return nil, byhand.Seen{}, errNoHold
	}
	return w.hold, w.seen, nil
}

// postOrder gives an order, in the words of govrig manual.
func (w *Workbench) postOrder(out http.ResponseWriter, r *http.Request) {
	var a struct {
		Order string `json:"order"`
	}
	hold, _, err := w.held()
	if err = errors.Join(err, posted(r, &a)); err == nil {
		ctx, cancel := context.WithCancel(r.Context())
		defer cancel()
		hold.Order(ctx, a.Order)
	}
	done(out, err)
}

// postBeat is the sign of life; it tells what there is to see.
func (w *Workbench) postBeat(out http.ResponseWriter, _ *http.Request) {
	hold, seen, err := w.held()
	if err != nil {
		refuse(out, err)
		return
	}
	hold.Beat()
	reply(out, seen)
}
