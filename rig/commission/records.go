package commission

import (
	"encoding/json"
	"errors"
	"io/fs"
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// everySetting are the procedures that have to be done at every speed setting
// of the machine.
var everySetting = []string{"hold", "loadstep", "sweep"}

// OfRecords judges runs that were kept, by the given steps. Of runs alike the
// newest counts. A virtual run counts only where all are virtual, and a run
// with another text of the machine file than the newest one does not count.
func OfRecords(steps []Step, records []*runlog.Record) (*State, error) {
	s := &State{Schema: Schema, Steps: slices.Clone(steps), Virtual: true}
	for _, r := range records {
		s.Virtual = s.Virtual && r.Info.Virtual
	}
	counting := slices.Clone(records)
	slices.SortStableFunc(counting, func(a, b *runlog.Record) int { return b.Started().Compare(a.Started()) })
	counting = slices.DeleteFunc(counting, func(r *runlog.Record) bool { return r.Info.Virtual != s.Virtual })
	var m *machine.Machine
	for _, r := range counting {
		if r.Info.Machine == "" {
			continue
		}
		var err error
		if m, err = machineOf(r); err != nil {
			return nil, err
		}
		s.Machine, s.Sum = r.Info.Machine, r.Info.MachineSum
		break
	}
	counting = slices.DeleteFunc(counting, func(r *runlog.Record) bool {
		return r.Info.Machine != "" && r.Info.MachineSum != s.Sum
	})
	for i := range s.Steps {
		if err := s.Steps[i].take(counting, m); err != nil {
			return nil, err
		}
	}
	s.judge()
	return s, nil
}

func machineOf(r *runlog.Record) (*machine.Machine, error) {
	text, err := r.Machine()
	if err != nil {
		return nil, err
	}
	return machine.Parse("machine.yaml", text)
}

// take takes what the runs of the step's procedure have come to; records are
// the newest first.
func (s *Step) take(records []*runlog.Record, m *machine.Machine) error {
	done := map[string]bool{} // the settings that were run
	for _, r := range records {
		setting := setting(r)
		if r.Info.Procedure != s.Name || done[setting] {
			continue
		}
		done[setting] = true
		if err := s.add(r); err != nil {
			return err
		}
		if setting == execution.AllSpeeds {
			return nil // what is older is done again by it
		}
	}
	if m == nil || len(done) == 0 || !slices.Contains(everySetting, s.Name) {
		return nil
	}
	var missing []string
	for _, speed := range m.Speeds {
		if !done[speed.Name] {
			missing = append(missing, speed.Name)
		}
	}
	if len(missing) > 0 && s.Outcome == measure.Pass {
		s.Outcome, s.Skipped = "", "there is no run at "+strings.Join(missing, ", ")
	}
	return nil
}

// setting is the speed setting that a run was asked for: its name, or
// execution.AllSpeeds.
func setting(r *runlog.Record) string {
	var options struct{ Speed string }
	if json.Unmarshal(r.Info.Options, &options) == nil && options.Speed == execution.AllSpeeds {
		return execution.AllSpeeds
	}
	return r.Info.Speed
}

// weight is how much an outcome weighs against others.
var weight = map[measure.Outcome]int{measure.Pass: 1, measure.NotRun: 2, measure.Error: 3, measure.Fail: 4}

// add adds a run: the worst of all outcomes counts.
func (s *Step) add(r *runlog.Record) error {
	result, err := r.Result()
	if errors.Is(err, fs.ErrNotExist) || err == nil && r.Reason() != runlog.Complete && result.Outcome == measure.Pass {
		result.Outcome, err = measure.NotRun, nil
	}
	if err != nil {
		return err
	}
	if weight[result.Outcome] > weight[s.Outcome] {
		s.Outcome = result.Outcome
	}
	s.judged(result)
	s.Record = r.Dir
	return nil
}
