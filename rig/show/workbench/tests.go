package workbench

import (
	"net/http"

	"govrig/rig/commission"
	"govrig/rig/procedure"
)

// step is a step of the evening as the page lists it.
type step struct {
	Number         int
	Name, Title    string
	Word, Line     string
	Class, Purpose string
	Next           bool // the first that is left to do
}

// far is how far the machine has come.
type far struct {
	room
	Steps   []step
	Verdict string
	Reasons []string
	Busy    bool
}

func (w *Workbench) far() far {
	_, s, err := w.state()
	f := far{room: w.room("tests", err)}
	w.mu.Lock()
	f.Busy = w.stop != nil
	w.mu.Unlock()
	if err != nil {
		return f
	}
	f.Verdict, f.Reasons = string(s.Verdict), s.Reasons
	next := false
	for i, p := range procedure.All {
		done := s.Steps[i]
		left := !next && (done.Stale.Any() || done.Outcome == "" && done.Skipped == "")
		next = next || left
		f.Steps = append(f.Steps, step{i + 1, p.Name, p.Title, done.Word(), done.Line(), class(done), p.Briefing.Purpose, left})
	}
	return f
}

// class is the colour of what a step has come to; the word stands beside it.
func class(s commission.Step) string {
	if s.Stale.Any() && s.Outcome != "fail" {
		return "open"
	}
	switch s.Outcome {
	case "pass":
		return "pass"
	case "fail", "error":
		return "fail"
	case "not_run":
		return "open"
	}
	return "todo"
}

// testsRoom shows the steps, and the run while one is under way.
func (w *Workbench) testsRoom(out http.ResponseWriter, _ *http.Request) {
	show(out, "tests.html", w.far())
}

// steps is the list alone, as it stands now.
func (w *Workbench) steps(out http.ResponseWriter, _ *http.Request) { show(out, "steps", w.far()) }

// postWalk begins.
func (w *Workbench) postWalk(out http.ResponseWriter, r *http.Request) {
	var a struct {
		Only string `json:"only"`
	}
	err := posted(r, &a)
	if err == nil {
		err = w.walk(a.Only)
	}
	done(out, err)
}
