package workbench

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"html/template"
	"net/http"
	"os"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/advise/sheet"
	"govrig/sim/keyfile"
	"govrig/sim/machine"
)

// section is a part of the form: a section of the file.
type section struct {
	Name   string
	Fields []field
}

type field struct {
	keyfile.Field
	Label   string
	Assumed string // shown while nothing is given
	Range   string
}

// form lays the keys of a file out. A text that is no such file has none.
func form(text string) (all []section) {
	for _, f := range machine.File.Read("", []byte(text), &machine.Machine{}).Fields() {
		name, rest, nested := strings.Cut(f.Path, ".")
		if !nested {
			name, rest = "machine", f.Path
		}
		if len(all) == 0 || all[len(all)-1].Name != name {
			all = append(all, section{Name: name})
		}
		s := &all[len(all)-1]
		s.Fields = append(s.Fields, field{f, phrase(rest), assumed(f.Key), span(f.Key)})
	}
	return all
}

// phrase makes words of a path.
func phrase(path string) string {
	return strings.NewReplacer("_", " ", ".", ", ").Replace(path)
}

func assumed(k *keyfile.Key) string {
	switch other, same := strings.CutPrefix(k.Default, "="); {
	case k.Needed:
		return ""
	case same:
		return "as " + phrase(other)
	case k.Default == "":
		return "left out"
	}
	return k.Default
}

func span(k *keyfile.Key) string {
	if k.Low == "" {
		return ""
	}
	return k.Low + " to " + k.High
}

// drawn is what follows from a text: what is wrong with it, or what it gives.
type drawn struct {
	Faults   map[string]string `json:"faults"` // by path; empty is the whole file
	Cautions []string          `json:"cautions"`
	Linkage  template.HTML     `json:"linkage"`
	Sheet    string            `json:"sheet"`
	Saved    bool              `json:"saved"`
	Base     string            `json:"base"` // of the text that was saved
}

// told are faults by their paths, in the words that the file would get.
func told(faults keyfile.Faults) map[string]string {
	all := map[string]string{}
	for _, f := range faults {
		if all[f.Path] == "" {
			all[f.Path] = f.Problem + "; " + f.Remedy
		}
	}
	return all
}

// check reads a text and draws what follows from it.
func check(text string) *drawn {
	m, err := machine.Parse("file", []byte(text))
	var faults keyfile.Faults
	switch {
	case errors.As(err, &faults):
		return &drawn{Faults: told(faults), Cautions: []string{}}
	case err != nil:
		return &drawn{Faults: map[string]string{"": err.Error()}, Cautions: []string{}}
	}
	d := &drawn{Faults: map[string]string{}, Cautions: append([]string{}, m.Cautions...)}
	s, err := sheet.New(sheet.FromMachine(m, sheet.HobbyBoard()))
	if err != nil {
		d.Faults[""] = err.Error()
		return d
	}
	var plain strings.Builder
	if err := s.WriteText(harmless.NewWriter(&plain)); err != nil {
		d.Faults[""] = err.Error()
	}
	d.Linkage, d.Sheet = s.HTML(), plain.String()
	return d
}

// edits are the fields that a person has changed. Base is the sum of the text
// that the page began with, so that nothing is lost that another program wrote
// meanwhile.
type edits struct {
	Base    string            `json:"base"`
	Changes map[string]string `json:"changes"`
}

func sum(text string) string {
	s := sha256.Sum256([]byte(text))
	return hex.EncodeToString(s[:])
}

// edited is the file with the changes in it. What only an editor can change is
// told by path.
func edited(text string, changes map[string]string) (string, map[string]string) {
	wrong := map[string]string{}
	for path, value := range changes {
		after, err := machine.File.Set(text, path, strings.TrimSpace(value), &machine.Machine{})
		if err != nil {
			wrong[path] = err.Error()
			continue
		}
		text = after
	}
	return text, wrong
}

// postCheck says what would come of the changes.
func (w *Workbench) postCheck(out http.ResponseWriter, r *http.Request) {
	var e edits
	_, text, err := w.text()
	if err = errors.Join(err, posted(r, &e)); err != nil {
		refuse(out, err)
		return
	}
	reply(out, consider(text, e.Changes))
}

func consider(text string, changes map[string]string) *drawn {
	text, wrong := edited(text, changes)
	d := check(text)
	for path, why := range wrong {
		d.Faults[path] = why
	}
	return d
}

// postSave writes the changes into the file, where nothing is wrong with them.
func (w *Workbench) postSave(out http.ResponseWriter, r *http.Request) {
	var e edits
	path, text, err := w.text()
	if err = errors.Join(err, posted(r, &e)); err != nil {
		refuse(out, err)
		return
	}
	d := consider(text, e.Changes)
	if e.Base != sum(text) {
		d.Faults[""] = "the file was changed by another program since this page was made: load the page again, and change it there"
	}
	if len(d.Faults) == 0 {
		text, _ = edited(text, e.Changes)
		temporary := path + ".new"
		if err := os.WriteFile(temporary, []byte(text), 0o644); err != nil {
			refuse(out, err)
			return
		}
		if err := os.Rename(temporary, path); err != nil {
			refuse(out, err)
			return
		}
		d.Saved, d.Base = true, sum(text)
	}
	reply(out, d)
}
