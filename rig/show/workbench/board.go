package workbench

import (
	"net/http"

	"govrig/rig/link/survey"
)

// boardRoom shows what to plug in.
func (w *Workbench) boardRoom(out http.ResponseWriter, _ *http.Request) {
	show(out, "board.html", struct{ room }{w.room("board", nil)})
}

// ports says what is plugged in, in plain words. It asks on the ports, which
// takes up to nine seconds; not while a test plays on one.
func (w *Workbench) ports(out http.ResponseWriter, r *http.Request) {
	w.mu.Lock()
	busy := w.stop != nil
	w.mu.Unlock()
	if busy {
		refuse(out, errBusy)
		return
	}
	t, err := survey.Take(r.Context(), nil, true, func() {})
	if err != nil {
		refuse(out, err)
		return
	}
	show(out, "ports", t)
}
