package commission

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
)

// ErrStopped is the person's word to stop; what has passed is kept.
var ErrStopped = errors.New("stopped; what has passed is kept")

// UnfinishedError is a procedure that did not come to its end.
type UnfinishedError struct {
	Run *execution.Run
	Err error
}

func (e *UnfinishedError) Error() string { return e.Err.Error() }

func (e *UnfinishedError) Unwrap() error { return e.Err }

// Walk is a commissioning under way: every procedure in order, those left out
// that have passed or have no reason.
type Walk struct {
	State      *State
	Procedures procedure.List
	// Bench opens the bench for a procedure.
	Bench func(context.Context, *execution.Procedure, execution.Options) (*execution.Bench, error)
	// Finished is shown what came of each.
	Finished func(*execution.Run, error)
	// Ask puts a question to the person.
	Ask func(context.Context, execution.Question) (string, error)
	// Notes is where the person reads what goes on.
	Notes io.Writer
	// Virtual: no hardware. Safe: the person has said beforehand that no engine
	// can run. Again: what has passed is done again, too.
	Virtual, Safe, Again bool
	// LeaveOut names procedures to leave out.
	LeaveOut []string
	// Only, where set, names the one procedure to do, whether it has passed or not.
	Only string
	// Begins, where set, is told which step begins, counted from 0.
	Begins func(i int, p *execution.Procedure)

	told execution.Briefing // the last one
}

// Go walks to the end, or to the first error.
func (w *Walk) Go(ctx context.Context) error {
	for i, p := range w.Procedures {
		if w.Only != "" && p.Name != w.Only {
			continue
		}
		if err := w.step(ctx, i, p); err != nil {
			return err
		}
	}
	return nil
}

// step does one step, or leaves it out with its reason.
func (w *Walk) step(ctx context.Context, i int, p *execution.Procedure) error {
	fmt.Fprintf(w.Notes, "\n%d of %d: %s\n", i+1, len(w.Procedures), p.Name)
	if w.Begins != nil {
		w.Begins(i, p)
	}
	if w.State.Passed(i) && !w.Again && w.Only == "" {
		fmt.Fprintln(w.Notes, "  passed before; --again does it again")
		return nil
	}
	if step := &w.State.Steps[i]; step.Stale.Any() {
		fmt.Fprintln(w.Notes, "  it is done again"+step.again())
	}
	if why, err := w.reasonToSkip(ctx, p); err != nil || why != "" {
		fmt.Fprintln(w.Notes, "  left out: "+why)
		return errors.Join(err, w.State.Skip(i, why))
	}
	for again := true; again; {
		if err := w.everywhere(ctx, i, p); err != nil {
			return err
		}
		var err error
		if again, err = w.onceMore(ctx, i, p); err != nil {
			return err
		}
	}
	return nil
}

// everywhere runs the step's procedure: once at every speed setting, or at each of
// those alone at which a step that has passed is stale.
func (w *Walk) everywhere(ctx context.Context, i int, p *execution.Procedure) error {
	step := &w.State.Steps[i]
	if at := slices.Clone(step.Stale.Settings); step.Outcome == measure.Pass && len(at) > 0 && !w.Again {
		for _, setting := range at {
			if err := w.perform(ctx, i, p, setting); err != nil {
				return err
			}
		}
		return nil
	}
	return w.perform(ctx, i, p, execution.AllSpeeds)
}

// perform runs the step's procedure, and keeps and tells what it came to.
func (w *Walk) perform(ctx context.Context, i int, p *execution.Procedure, setting string) error {
	o := p.New()
	if several, ok := o.(execution.AtSetting); ok && p.PerSetting {
		several.SetSpeed(setting)
	}
	if err := o.Check(w.Virtual); err != nil {
		return err
	}
	bench, err := w.Bench(ctx, p, o)
	if err != nil {
		return err
	}
	r, err := o.Run(ctx, bench)
	w.Finished(r, err)
	if r == nil {
		return err
	}
	if noteErr := w.State.Done(i, r); noteErr != nil {
		return noteErr
	}
	w.tell(i, r)
	if err != nil {
		return &UnfinishedError{r, err}
	}
	return nil
}

// tell says what a step has come to.
func (w *Walk) tell(i int, r *execution.Run) {
	fmt.Fprintf(w.Notes, "  %s: %s\n", w.State.Steps[i].Name, strings.ReplaceAll(string(r.Result.Outcome), "_", " "))
	for _, missed := range w.State.Steps[i].Missed {
		fmt.Fprintln(w.Notes, "  missed: "+missed)
	}
	if r.Result.Outcome == measure.Error {
		for _, warning := range r.Result.Warnings {
			fmt.Fprintln(w.Notes, "  note: "+warning)
		}
	}
	for _, next := range r.Next {
		fmt.Fprintln(w.Notes, "  next: "+next)
	}
}

// onceMore asks whether to do a step again that has not passed.
func (w *Walk) onceMore(ctx context.Context, i int, p *execution.Procedure) (again bool, err error) {
	if w.Virtual || w.State.Passed(i) {
		return false, nil
	}
	answer, err := w.Ask(ctx, execution.Question{
		Key:     p.Name + "_again",
		Text:    p.Name + " has not passed. Put right what you can and do it again, go on to the next, or stop?",
		Answers: []string{"again", "on", "stop"},
	})
	switch {
	case errors.Is(err, execution.ErrNotAsked):
		return false, nil
	case err != nil:
		return false, err
	case answer == "stop":
		return false, ErrStopped
	}
	return answer == "again", nil
}

// reasonToSkip briefs the person and asks whether all is ready.
func (w *Walk) reasonToSkip(ctx context.Context, p *execution.Procedure) (why string, err error) {
	if slices.Contains(w.LeaveOut, p.Name) {
		return "asked to leave it out", nil
	}
	if p.Needless != nil && w.Only == "" {
		if why := p.Needless(w.State.outcome); why != "" {
			return why, nil
		}
	}
	w.news(p.Briefing).Write(w.Notes, w.Virtual)
	if w.Virtual || w.Safe && p.Wires == execution.Governor {
		return "", nil
	}
	answer, err := w.Ask(ctx, execution.Question{
		Key: p.Name, Text: "Is all of this so, and is it impossible for the engine to start?", Answers: []string{"yes", "skip", "stop"},
		Title: p.Title, Brief: &p.Briefing,
	})
	switch {
	case errors.Is(err, execution.ErrNotAsked):
		return "nobody was there to say that it is wired and safe (--answer " + p.Name + "=yes says so)", nil
	case err != nil:
		return "", err
	case answer == "skip":
		return "skipped by you", nil
	case answer == "stop":
		return "not come to", ErrStopped
	}
	return "", nil
}

// news leaves out of a briefing what stood in the one before, so that what is
// new is seen.
func (w *Walk) news(brief execution.Briefing) execution.Briefing {
	told := w.told
	w.told = brief
	for _, list := range []struct{ now, before *[]string }{
		{&brief.Connect, &told.Connect}, {&brief.Moves, &told.Moves}, {&brief.Hurts, &told.Hurts},
	} {
		if slices.Equal(*list.now, *list.before) {
			*list.now = []string{"as before"}
		}
	}
	return brief
}

// outcome is what the step of a name has come to; empty while not done.
func (s *State) outcome(name string) measure.Outcome {
	for _, step := range s.Steps {
		if step.Name == name {
			return step.Outcome
		}
	}
	return ""
}
