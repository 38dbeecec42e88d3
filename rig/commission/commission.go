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
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"govrig/protocol/harmless"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// Schema is the version of the file that a State is kept in.
const Schema = "govrig/commission/2"

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
	// Record is the folder of the run record, Earlier are those of runs before it
	// that still count for other speed settings.
	Record  string   `json:"record,omitempty"`
	Earlier []string `json:"earlier_records,omitempty"`
	// Setting is the speed setting that was run; empty is none, or each.
	Setting string `json:"setting,omitempty"`
	// Read are the values of the machine file that the procedure read, by path.
	Read map[string]string `json:"read,omitempty"`
	// Stale is what the file as it is now makes of that.
	Stale Stale `json:"stale,omitzero"`
}

// State is how far a machine has come.
type State struct {
	Schema  string  `json:"schema"`
	Machine string  `json:"machine"` // its name
	Virtual bool    `json:"virtual"`
	Steps   []Step  `json:"steps"`
	Verdict Verdict `json:"verdict"`
	// Reasons are those of the verdict in plain words, the weightiest first; those
	// of a no-go begin with the danger.
	Reasons []string `json:"reasons"`

	path       string
	procedures procedure.List
}

// Open reads the state of a machine from folder, or begins one, with the steps of
// a list. It is found by the machine's name; of what has been done, that is stale
// whose procedure has read something of the machine file that is otherwise now. A
// state of a virtual run does not count where this one is real.
func Open(folder string, m *machine.Machine, virtual bool, list procedure.List) (*State, error) {
	if err := runlog.Readable(folder); err != nil {
		return nil, err
	}
	s := &State{
		Schema: Schema, Machine: m.Name, Virtual: virtual, Steps: StepsOf(list), procedures: list,
		path: filepath.Join(folder, "commission-"+fileName(m.Name)+kind(virtual)+".json"),
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
	if old.Schema == Schema && old.Machine == s.Machine && old.Virtual == virtual {
		s.take(old.Steps)
		s.age(m)
		s.judge()
	}
	return s, nil
}

// fileName is a machine's name as a file may have it: its letters and digits, and a
// sum that tells it from others with the same.
func fileName(name string) string {
	plain := strings.Trim(notPlain.ReplaceAllString(strings.ToLower(name), "-"), "-")
	sum := sha256.Sum256([]byte(name))
	return strings.TrimLeft(plain+"-"+hex.EncodeToString(sum[:3]), "-")
}

var notPlain = regexp.MustCompile("[^a-z0-9]+")

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
func (s *State) Passed(i int) bool {
	return s.Steps[i].Outcome == measure.Pass && !s.Steps[i].Stale.Any()
}

// Records are the names of the runs that count, in the order of the steps.
func (s *State) Records() (names []string) {
	for _, step := range s.Steps {
		for _, dir := range append([]string{step.Record}, step.Earlier...) {
			if dir != "" {
				names = append(names, filepath.Base(dir))
			}
		}
	}
	return names
}

// Skip notes that a step is left out, and why. One that has passed and is stale stays
// as it is, to be done again.
func (s *State) Skip(i int, why string) error {
	if s.Steps[i].Outcome == measure.Pass {
		return s.save()
	}
	s.Steps[i] = Step{Name: s.Steps[i].Name, Optional: s.Steps[i].Optional, Skipped: why}
	return s.save()
}

// Done notes what a run of a step has come to. Where the step has passed and is
// stale at some speed settings, a run at one of them leaves the others as they are.
func (s *State) Done(i int, r *execution.Run) error {
	before := s.Steps[i]
	step := Step{
		Name: before.Name, Optional: before.Optional, Outcome: r.Result.Outcome, Virtual: r.Result.Virtual,
		Found: r.Found, Next: r.Next, Record: r.Dir, Setting: r.Setting.Name, Read: r.Read,
	}
	step.judged(r.Result)
	if at := r.Setting.Name; before.Outcome == measure.Pass && slices.Contains(before.Stale.Settings, at) {
		step.join(&before, at)
	}
	s.Steps[i] = step
	return s.save()
}

// join adds a run at one setting to those at others from before.
func (s *Step) join(before *Step, setting string) {
	s.Setting, s.Virtual = "", s.Virtual || before.Virtual
	s.Earlier = append(slices.Clone(before.Earlier), before.Record)
	s.Read = maps.Clone(s.Read)
	for path, value := range before.Read {
		if at := execution.SettingOf(path); at != "" && at != setting {
			s.Read[path] = value
		}
	}
	for _, other := range before.Stale.Settings {
		if other != setting {
			s.Stale.Settings, s.Stale.Why = append(s.Stale.Settings, other), before.Stale.Why
		}
	}
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
		case step.Stale.Any() && step.Outcome != measure.Fail && (!step.Optional || step.Outcome == measure.Pass):
			open = append(open, step.titled()+" is to be done again"+step.again())
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

func (s Step) failure() string { return s.title() + ": " + listed(s.Missed, mostMissed) }

// mostMissed is how many missed limits are told one by one.
const mostMissed = 2

// listed joins some sentences, most at the most, and says how many more there are.
func listed(all []string, most int) string {
	if len(all) <= most {
		return strings.Join(all, "; ")
	}
	return strings.Join(all[:most], "; ") + fmt.Sprintf("; and %d more", len(all)-most)
}

// again says at which settings a stale step is to be done again, and why.
func (s Step) again() string {
	if at := s.Stale.Settings; len(at) > 0 {
		return ", at " + strings.Join(at, " and ") + ": " + s.Stale.text()
	}
	return ": " + s.Stale.text()
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
