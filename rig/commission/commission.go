// Package commission keeps what is known of a machine and its governor on the
// way from the first wire to the first start, and judges it: go, no-go, or not
// proven.
package commission

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// Schema is the version of the file that a State is kept in.
const Schema = "govrig/commission/1"

// Verdict is what is to be made of all steps together.
type Verdict string

// The verdicts. There is no go without hardware.
const (
	Go        Verdict = "go"
	NoGo      Verdict = "no-go"
	NotProven Verdict = "not proven"
)

// Step is one procedure on the way.
type Step struct {
	Name string `json:"name"`
	// Optional steps do not hold back a go when they were left out.
	Optional bool            `json:"optional,omitempty"`
	Outcome  measure.Outcome `json:"outcome,omitempty"` // empty while not done
	// Virtual tells that no hardware took part.
	Virtual bool `json:"virtual,omitempty"`
	// Skipped is why the step was left out.
	Skipped string `json:"skipped,omitempty"`
	// Danger is the worst that was found, in one sentence; empty is nothing.
	Danger string `json:"danger,omitempty"`
	// Missed are the measures that missed their limits, each in words.
	Missed []string `json:"missed,omitempty"`
	// Found and Next are what the procedure said.
	Found []string `json:"found,omitempty"`
	Next  []string `json:"next,omitempty"`
	// Record is the folder of the run record.
	Record string `json:"record,omitempty"`
}

// State is how far a machine has come.
type State struct {
	Schema  string  `json:"schema"`
	Machine string  `json:"machine"` // its name
	Sum     string  `json:"machine_sha256"`
	Virtual bool    `json:"virtual"`
	Steps   []Step  `json:"steps"`
	Verdict Verdict `json:"verdict"`
	// Reasons are those of the verdict in plain words, the weightiest first; those
	// of a no-go begin with the danger.
	Reasons []string `json:"reasons"`

	path string
}

// Open reads the state of a machine from folder, or begins one, with the given
// steps. A state of another text of the machine file, or of a virtual run where
// this one is real, does not count: it begins anew.
func Open(folder, name, text string, virtual bool, steps []Step) (*State, error) {
	if err := runlog.Readable(folder); err != nil {
		return nil, err
	}
	sum := sha256.Sum256([]byte(text))
	s := &State{
		Schema: Schema, Machine: name, Sum: hex.EncodeToString(sum[:]), Virtual: virtual, Steps: steps,
		path: filepath.Join(folder, "commission-"+hex.EncodeToString(sum[:4])+kind(virtual)+".json"),
	}
	b, err := os.ReadFile(s.path)
	if errors.Is(err, fs.ErrNotExist) {
		return s, nil
	}
	if err != nil {
		return nil, err
	}
	var old State
	if err := json.Unmarshal(b, &old); err != nil {
		return nil, fmt.Errorf("%s cannot be read (%w): move it away to begin anew", s.path, err)
	}
	harmless.Lines(&old)
	if old.Schema == Schema && old.Sum == s.Sum && old.Virtual == virtual {
		s.take(old.Steps)
	}
	return s, nil
}

func kind(virtual bool) string {
	if virtual {
		return "-virtual"
	}
	return ""
}

// take takes over what older steps of the same names have come to.
func (s *State) take(old []Step) {
	for i := range s.Steps {
		for _, o := range old {
			if o.Name == s.Steps[i].Name {
				o.Optional = s.Steps[i].Optional
				s.Steps[i] = o
			}
		}
	}
}

// Passed reports whether a step need not be done again.
func (s *State) Passed(i int) bool { return s.Steps[i].Outcome == measure.Pass }

// Skip notes that a step is left out, and why.
func (s *State) Skip(i int, why string) error {
	s.Steps[i] = Step{Name: s.Steps[i].Name, Optional: s.Steps[i].Optional, Skipped: why}
	return s.save()
}

// Done notes what a step has come to.
func (s *State) Done(i int, result measure.Result, found, next []string, record string) error {
	step := Step{
		Name: s.Steps[i].Name, Optional: s.Steps[i].Optional,
		Outcome: result.Outcome, Virtual: result.Virtual, Found: found, Next: next, Record: record,
	}
	step.judged(result)
	s.Steps[i] = step
	return s.save()
}

// save writes the state, whole or not at all.
func (s *State) save() error {
	s.judge()
	b, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(s.path), 0o755); err != nil {
		return err
	}
	temporary := s.path + ".new"
	if err := os.WriteFile(temporary, append(b, '\n'), 0o644); err != nil {
		return err
	}
	if err := os.Rename(temporary, s.path); err != nil {
		return err
	}
	return nil
}

// judge works out verdict and reasons from the steps.
func (s *State) judge() {
	var dangers, missed, failed, open, emulated []string
	for _, step := range s.Steps {
		switch {
		case step.Outcome == measure.Fail:
			missed = append(missed, step.title())
			failed = append(failed, step.failure())
			if step.Danger != "" {
				dangers = append(dangers, step.Danger)
			}
		case step.Outcome == measure.Pass && step.Virtual && !s.Virtual:
			emulated = append(emulated, step.title())
		case step.Outcome == measure.Pass, step.Optional:
		default:
			open = append(open, step.open())
		}
	}
	if len(failed) > 0 && len(dangers) == 0 {
		dangers = []string{"Limits were missed in " + strings.Join(missed, ", ") + ": start no engine until they are met."}
	}
	s.Reasons = append(failed, open...)
	if len(emulated) > 0 {
		s.Reasons = append(s.Reasons, "done on an emulated board, which is no hardware, and to be done again on the bench: "+strings.Join(emulated, ", "))
	}
	if s.Virtual {
		s.Reasons = append([]string{"virtual run: a simulated governor proves nothing about a real one"}, s.Reasons...)
	}
	s.Reasons = append(dangers, s.Reasons...)
	switch {
	case len(failed) > 0:
		s.Verdict = NoGo
	case len(s.Reasons) > 0:
		s.Verdict = NotProven
	default:
		s.Verdict = Go
		s.Reasons = []string{"every step was done on the bench with the real governor, and every limit was met"}
	}
}

func (s Step) failure() string {
	text := s.title() + ": "
	for i, m := range s.Missed {
		if i == 2 {
			return text + fmt.Sprintf("; and %d more", len(s.Missed)-i)
		}
		if i > 0 {
			text += "; "
		}
		text += m
	}
	return text
}

func (s Step) open() string {
	switch {
	case s.Skipped != "":
		return s.titled() + " was left out: " + s.Skipped
	case s.Outcome == "":
		return s.titled() + " has not been done"
	case s.Outcome == measure.Error:
		return s.titled() + ": the rig went wrong"
	}
	return s.titled() + ": not everything could be measured"
}
