package workbench

import (
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

// machineRoom shows the form of the machine, or asks which.
func (w *Workbench) machineRoom(out http.ResponseWriter, _ *http.Request) {
	_, text, err := w.text()
	data := struct {
		room
		Files    []string
		Five     []question
		Quirks   []string
		Base     string
		Sections []section
		Drawn    *drawn
	}{room: w.room("machine", err), Files: w.files(), Five: five, Quirks: machine.File.ByPath["stand_in.quirk"].OneOf}
	if err == nil {
		data.Base, data.Sections, data.Drawn = sum(text), form(text), check(text)
	}
	show(out, "machine.html", data)
}

// question is one of those that make a new machine.
type question struct{ Path, Text, Example string }

// five are asked for a new machine; the rest follows from them until it is known
// better.
var five = []question{
	ask("name", "What is it called?"),
	ask("engine.displacement", "How large is the engine?"),
	ask("gears[0].ratio", "Gear ratio: engine turns for one of the head"),
	ask("main_rotor.radius", "From the shaft to the blade tip"),
	ask("speeds.hover.head_speed", "Wanted head speed"),
}

func ask(path, text string) question {
	return question{path, text, machine.File.ByPath[path].Example}
}

// postChoose takes a machine file, with or without hardware.
func (w *Workbench) postChoose(out http.ResponseWriter, r *http.Request) {
	var a struct {
		File    string `json:"file"` // empty keeps the one there is
		Virtual bool   `json:"virtual"`
	}
	err := posted(r, &a)
	path, _ := w.chosen()
	if err == nil && a.File != "" {
		path = filepath.Join(w.options.Folder, a.File)
		if !slices.Contains(w.files(), a.File) {
			err = errNotThere
		}
	}
	if err == nil {
		err = w.choose(path, a.Virtual)
	}
	done(out, err)
}

func done(out http.ResponseWriter, err error) {
	if err != nil {
		refuse(out, err)
		return
	}
	out.WriteHeader(http.StatusNoContent)
}

// postNew writes a new machine file from the answers to five questions.
func (w *Workbench) postNew(out http.ResponseWriter, r *http.Request) {
	var answers map[string]string
	if err := posted(r, &answers); err != nil {
		refuse(out, err)
		return
	}
	for path, text := range answers {
		if answers[path] = strings.TrimSpace(text); answers[path] == "" {
			delete(answers, path)
		}
	}
	text, err := machine.Template(answers)
	var faults keyfile.Faults
	if errors.As(err, &faults) {
		reply(out, drawn{Faults: told(faults)})
		return
	}
	name := fileName(answers["name"])
	if err == nil {
		err = w.write(name, text)
	}
	_, virtual := w.chosen()
	if err == nil {
		err = w.choose(filepath.Join(w.options.Folder, name), virtual)
	}
	done(out, err)
}

// write writes a file that must not exist yet.
func (w *Workbench) write(name, text string) error {
	f, err := os.OpenFile(filepath.Join(w.options.Folder, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return errors.New(name + " exists already and is left as it is; give the machine another name")
	}
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	return errors.Join(err, f.Close())
}

// fileName makes the name of a file from that of a machine.
func fileName(machine string) string {
	name := strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(machine)), "-")
	for strings.Contains(name, "--") {
		name = strings.ReplaceAll(name, "--", "-")
	}
	if name == "" {
		name = "machine"
	}
	return name[:min(len(name), 40)] + ".yaml"
}

// postExample chooses an invented machine without hardware, whose governor has
// the fault that is named.
func (w *Workbench) postExample(out http.ResponseWriter, r *http.Request) {
	var a struct {
		Quirk string `json:"quirk"`
	}
	err := posted(r, &a)
	if err == nil && !slices.Contains(machine.File.ByPath["stand_in.quirk"].OneOf, a.Quirk) {
		err = errors.New("there is no such governor")
	}
	name := "example-" + fileName(a.Quirk)
	if err == nil && !slices.Contains(w.files(), name) {
		var text string
		if text, err = machine.Template(map[string]string{"name": "Example", "stand_in.quirk": a.Quirk}); err == nil {
			err = w.write(name, text)
		}
	}
	if err == nil {
		err = w.choose(filepath.Join(w.options.Folder, name), true)
	}
	done(out, err)
}
