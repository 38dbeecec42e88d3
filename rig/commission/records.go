package commission

import (
	"errors"
	"io/fs"
	"slices"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// OfRecords judges runs that were kept, by the steps of a list. Of runs alike the
// newest counts, and a virtual run only where all are virtual. A run whose procedure
// has read something of the machine file that is otherwise now does not count; m is
// the machine as it is now, nil that of the newest run.
func OfRecords(list procedure.List, records []*runlog.Record, m *machine.Machine) (*State, error) {
	s := &State{Schema: Schema, Steps: StepsOf(list), Virtual: true, procedures: list}
	for _, r := range records {
		s.Virtual = s.Virtual && r.Info.Virtual
	}
	counting := slices.Clone(records)
	slices.SortStableFunc(counting, func(a, b *runlog.Record) int { return b.Started().Compare(a.Started()) })
	counting = slices.DeleteFunc(counting, func(r *runlog.Record) bool { return r.Info.Virtual != s.Virtual })
	if newest := slices.IndexFunc(counting, ofMachine); m == nil && newest >= 0 {
		var err error
		if m, err = machineOf(counting[newest]); err != nil {
			return nil, err
		}
	}
	if m != nil {
		s.Machine = m.Name
	}
	for i, p := range list {
		if err := s.Steps[i].take(p, counting, m, s.Virtual); err != nil {
			return nil, err
		}
	}
	s.judge()
	return s, nil
}

func ofMachine(r *runlog.Record) bool { return r.Info.Machine != "" }

func machineOf(r *runlog.Record) (*machine.Machine, error) {
	text, err := r.Machine()
	if err != nil {
		return nil, err
	}
	return machine.Parse("machine.yaml", text)
}

// take takes what the runs of the step's procedure have come to; records are
// the newest first.
func (s *Step) take(p *execution.Procedure, records []*runlog.Record, m *machine.Machine, simulated bool) error {
	records = slices.DeleteFunc(slices.Clone(records), func(r *runlog.Record) bool { return r.Info.Procedure != s.Name })
	if !p.PerSetting {
		return s.takeNewest(p, records, m, simulated)
	}
	done := map[string]bool{} // the settings that were run
	if m == nil {             // a run at a setting of no machine, as no program leaves it
		return nil
	}
	for _, r := range records {
		covers, stale := covered(p, r, m, simulated)
		covers = slices.DeleteFunc(covers, func(setting string) bool { return done[setting] })
		if len(s.Stale.Why) == 0 {
			s.Stale = stale
		}
		if len(covers) == 0 {
			continue
		}
		if err := s.add(r, covers); err != nil {
			return err
		}
		for _, setting := range covers {
			done[setting] = true
		}
	}
	s.miss(m, done)
	return nil
}

// takeNewest takes the newest run of any setting.
func (s *Step) takeNewest(p *execution.Procedure, records []*runlog.Record, m *machine.Machine, simulated bool) error {
	if len(records) == 0 {
		return nil
	}
	if ofMachine(records[0]) {
		s.Stale = ageOf(p, records[0], m, simulated)
	}
	return s.add(records[0], nil)
}

// ageOf is what the machine file as it is now makes of a run.
func ageOf(p *execution.Procedure, r *runlog.Record, m *machine.Machine, simulated bool) Stale {
	read, setting := r.Info.Read, execution.AskedFor(r.Info.Options, r.Info.Speed)
	if setting == execution.AllSpeeds {
		setting = ""
	}
	if then, err := machineOf(r); read == nil && err == nil { // an older record
		read = execution.ReadOf(then, p.Reads, setting, simulated)
	}
	return staleness(p, read, m, setting, simulated)
}

// covered are the speed settings of the machine at which a run stands.
func covered(p *execution.Procedure, r *runlog.Record, m *machine.Machine, simulated bool) (settings []string, stale Stale) {
	stale = ageOf(p, r, m, simulated)
	asked := execution.AskedFor(r.Info.Options, r.Info.Speed)
	for _, speed := range m.Speeds {
		if (asked == execution.AllSpeeds || asked == speed.Name) && !stale.at(speed.Name) {
			settings = append(settings, speed.Name)
		}
	}
	return settings, stale
}

// miss notes at which settings there is no run that stands.
func (s *Step) miss(m *machine.Machine, done map[string]bool) {
	var missing []string
	for _, speed := range m.Speeds {
		if !done[speed.Name] {
			missing = append(missing, speed.Name)
		}
	}
	switch stale := s.Stale; {
	case len(missing) == 0:
		s.Stale = Stale{}
	case stale.Any():
		s.Stale.Settings = missing
	case len(done) > 0 && s.Outcome == measure.Pass:
		s.Outcome, s.Skipped = "", "there is no run at "+strings.Join(missing, ", ")
	}
}

// weight is how much an outcome weighs against others.
var weight = map[measure.Outcome]int{measure.Pass: 1, measure.NotRun: 2, measure.Error: 3, measure.Fail: 4}

// add adds a run, of several settings only those at which it counts: the worst of
// all outcomes counts.
func (s *Step) add(r *runlog.Record, settings []string) error {
	result, err := r.Result()
	if errors.Is(err, fs.ErrNotExist) || err == nil && r.Reason() != runlog.Complete && result.Outcome == measure.Pass {
		result.Outcome, err = measure.NotRun, nil
	}
	if err != nil {
		return err
	}
	only(&result, settings)
	if weight[result.Outcome] > weight[s.Outcome] {
		s.Outcome = result.Outcome
	}
	s.judged(result)
	if s.Record == "" {
		s.Record = r.Dir
	} else {
		s.Earlier = append(s.Earlier, r.Dir)
	}
	return nil
}

// only leaves of a result what was measured at the given settings and at none; nil
// is all. A run that has failed at others alone has not failed at these.
func only(result *measure.Result, settings []string) {
	other := func(m measure.Measure) bool {
		return m.Key.Setting != "" && !slices.Contains(settings, m.Key.Setting)
	}
	if settings == nil || !slices.ContainsFunc(result.Measures, other) {
		return
	}
	result.Measures = slices.DeleteFunc(slices.Clone(result.Measures), other)
	has := func(outcome measure.Outcome) bool {
		return slices.ContainsFunc(result.Measures, func(m measure.Measure) bool { return m.Outcome == outcome && m.Limit != nil })
	}
	switch {
	case result.Outcome != measure.Fail || has(measure.Fail):
	case has(measure.NotRun):
		result.Outcome = measure.NotRun
	default:
		result.Outcome = measure.Pass
	}
}
