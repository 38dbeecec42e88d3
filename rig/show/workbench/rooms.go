package workbench

import (
	"embed"
	"encoding/json"
	"errors"
	"html/template"
	"net/http"
	"path/filepath"

	"govrig/protocol/harmless"
	"govrig/rig/show/live"
	"govrig/sim/words"
)

//go:embed page
var files embed.FS

var pages = template.Must(live.Template("rooms").Funcs(template.FuncMap{"phrase": phrase}).ParseFS(files, "page/*.html"))

// mostBytes bounds what a browser may send: a machine file's fields.
const mostBytes = 256 << 10

// ServeHTTP answers what the page of the run does not.
func (w *Workbench) ServeHTTP(out http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(out, r.Body, mostBytes)
	do, known := map[string]func(http.ResponseWriter, *http.Request){
		"GET /": w.machineRoom, "POST /choose": w.postChoose, "POST /new": w.postNew, "POST /example": w.postExample,
		"POST /check": w.postCheck, "POST /save": w.postSave,
		"GET /board": w.boardRoom, "GET /ports": w.ports,
		"GET /tests": w.testsRoom, "GET /steps": w.steps, "POST /walk": w.postWalk,
		"GET /hand": w.handRoom, "POST /hold": w.postHold, "POST /order": w.postOrder, "POST /beat": w.postBeat,
		"GET /paper": w.paperRoom, "GET /report": w.report, "GET /run": w.run, "GET /beside": w.beside,
		"GET /rooms.css": file("text/css", "rooms.css"), "GET /rooms.js": file("text/javascript", "rooms.js"),
		"GET /machine.js": file("text/javascript", "machine.js"), "GET /tests.js": file("text/javascript", "tests.js"), "GET /hand.js": file("text/javascript", "hand.js"),
	}[r.Method+" "+r.URL.Path]
	if !known {
		http.NotFound(out, r)
		return
	}
	do(out, r)
}

func file(kind, name string) func(http.ResponseWriter, *http.Request) {
	return func(out http.ResponseWriter, _ *http.Request) {
		b, err := files.ReadFile("page/" + name)
		if err != nil {
			panic(err) // it is embedded
		}
		out.Header().Set("Content-Type", kind+"; charset=utf-8")
		_, _ = out.Write(b) // a browser that has gone needs nothing
	}
}

// room is what every room shows.
type room struct {
	Name    string // of the room
	Machine string // file name; empty while none is chosen
	Virtual bool
	Error   string
}

func (w *Workbench) room(name string, err error) room {
	path, virtual := w.chosen()
	r := room{Name: name, Virtual: virtual}
	if path != "" {
		r.Machine = filepath.Base(path)
	}
	if err != nil && !errors.Is(err, errNoMine) {
		r.Error = err.Error()
	}
	return r
}

// show writes a page. What it says of files, boards and records is cleaned on
// its way.
func show(out http.ResponseWriter, name string, data any) {
	out.Header().Set("Content-Type", "text/html; charset=utf-8")
	_ = pages.ExecuteTemplate(harmless.NewWriter(out), name, data) // a browser that has gone needs no page
}

// reply answers a script.
func reply(out http.ResponseWriter, data any) {
	out.Header().Set("Content-Type", "application/json")
	_ = words.JSON(harmless.NewWriter(out), data)
}

// refuse says why not, in the words that the person reads.
func refuse(out http.ResponseWriter, err error) {
	status := http.StatusBadRequest
	if errors.Is(err, errBusy) {
		status = http.StatusConflict
	}
	http.Error(out, harmless.Line(err.Error()), status)
}

// posted reads what a script sends.
func posted(r *http.Request, into any) error {
	if err := json.NewDecoder(r.Body).Decode(into); err != nil {
		return errors.New("what the page sent cannot be read")
	}
	return nil
}
