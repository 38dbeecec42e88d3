// Package identification puts together what the runs of a commission have shown of a
// governor: a model that can take its place in virtual runs and predictions, with how
// sure each value is, or the reason for having none.
//
// The name is that of the trade: system identification is to find the equations of
// a thing in what it does (Ljung, System Identification, 2nd edition, 1999, from
// memory).
package identification

import (
	"fmt"
	"reflect"
	"slices"

	"govrig/rig/identification/fit"
	"govrig/rig/measure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
)

// Schema names the JSON document that a Result marshals to.
const Schema = "govrig/identification/1"

// Result is what came of an identification.
type Result struct {
	Schema  string `json:"schema"`
	Machine string `json:"machine"`
	Virtual bool   `json:"virtual"`
	// Kind is what governor this is, in a sentence.
	Kind string `json:"kind"`
	// Doubts are the reasons for which its law is not believed; a law that is not
	// believed is not in the model.
	Doubts []string `json:"doubts,omitempty"`
	// Unsafe are the faults in which it was not safe.
	Unsafe []string `json:"unsafe,omitempty"`
	// Missing says what else to run, and what it would tell.
	Missing []string `json:"missing,omitempty"`
	// Proof is the load step that the model predicts beside the one that was
	// measured, at each speed setting.
	Proof []Step `json:"proof,omitempty"`
	// Differs are the findings of the proof.
	Differs []string `json:"differs,omitempty"`

	// Model is what is known; its law is nil unless believed.
	Model *model.Model `json:"-"`
	// Fit is the law that was found, believed or not; nil is none. Sets are what
	// it was found in.
	Fit  *fit.Fit  `json:"-"`
	Sets []fit.Set `json:"-"`
}

// Believed reports whether the model has a law.
func (r *Result) Believed() bool { return r.Model.Law.Gain != nil }

// Of identifies the governor of a machine from records of it. Of runs alike the
// newest counts; a run that is void counts for nothing. The error is one of reading.
func Of(m *machine.Machine, records []*runlog.Record) (*Result, error) {
	runs, err := sorted(m, records)
	if err != nil {
		return nil, err
	}
	r := &Result{Schema: Schema, Machine: m.Name, Virtual: runs.virtual()}
	r.Model = &model.Model{Format: model.Format, Name: "Governor of " + m.Name, Machine: m.Name, Bench: runs.bench(), Date: runs.day()}
	for _, read := range []func(*kept, *machine.Machine) error{
		r.readThrottle, r.readSetting, r.readSpool, r.readFaults, r.readRiding, r.readLaw, r.readEnds, r.prove,
	} {
		if err := read(runs, m); err != nil {
			return nil, err
		}
	}
	r.say()
	return r, nil
}

// kept are the records that count, by the procedure, the newest first.
type kept struct{ of map[string][]*run }

// run is a record with its result.
type run struct {
	*runlog.Record
	result measure.Result
}

// sorted takes the records that tell of the governor of this machine: whole, not void,
// without hardware only where there are none with it, and then of one simulated
// governor, that of the newest.
func sorted(m *machine.Machine, records []*runlog.Record) (*kept, error) {
	hardware := slices.ContainsFunc(records, func(r *runlog.Record) bool { return !r.Info.Virtual })
	all := &kept{of: map[string][]*run{}}
	var first *runlog.Record
	newest := slices.Clone(records)
	slices.SortStableFunc(newest, func(a, b *runlog.Record) int { return b.Started().Compare(a.Started()) })
	for _, rec := range newest {
		if rec.Info.Machine != m.Name || rec.Info.Virtual && hardware || rec.Reason() != runlog.Complete {
			continue
		}
		if first == nil {
			first = rec
		}
		if !reflect.DeepEqual(rec.Info.StandIn, first.Info.StandIn) {
			continue // of another simulated governor
		}
		result, err := rec.Result()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", rec.Name(), err)
		}
		if result.Outcome != measure.Error {
			all.of[rec.Info.Procedure] = append(all.of[rec.Info.Procedure], &run{rec, result})
		}
	}
	return all, nil
}

// newest is the newest run of a procedure, or nil.
func (r *kept) newest(procedure string) *run {
	if all := r.of[procedure]; len(all) > 0 {
		return all[0]
	}
	return nil
}

// any is the newest of all runs, or nil.
func (r *kept) any() (newest *run) {
	for _, all := range r.of {
		if newest == nil || all[0].Started().After(newest.Started()) {
			newest = all[0]
		}
	}
	return newest
}

func (r *kept) virtual() bool {
	any := r.any()
	return any != nil && any.Info.Virtual
}

// bench is what they ran on, in the governor file's word.
func (r *kept) bench() string {
	switch any := r.any(); {
	case any == nil:
		return ""
	case !any.Info.Virtual:
		return "hardware"
	case any.Info.Board == "emulated":
		return "emulated"
	}
	return "virtual"
}

// day is that of the newest run.
func (r *kept) day() string {
	if any := r.any(); any != nil && !any.Started().IsZero() {
		return any.Started().Format("2006-01-02")
	}
	return ""
}

// value is a measure of a run, where it was taken.
func (r *run) value(what, setting string) (float64, bool) {
	m := r.result.Get(measure.Key{What: what, Setting: setting})
	if m == nil || m.Value == nil {
		return 0, false
	}
	return *m.Value, true
}

// miss notes what else to run.
func (r *Result) miss(procedure, tells string) {
	r.Missing = append(r.Missing, fmt.Sprintf("govrig %s tells %s", procedure, tells))
}

// say says what governor it is.
func (r *Result) say() {
	switch {
	case r.Believed():
		r.Missing = append(r.Missing, "no test moves the stick while it governs, so that what it adds of the stick at once is not known")
		r.Kind = fmt.Sprintf("Its law is %s; it sees the speed of %s ago.", r.Fit.Order, r.age())
	case len(r.Doubts) > 0:
		r.Kind = "No model of its law is to be believed."
	default:
		r.Kind = "What law it governs by is not known."
	}
}

// age is how old the speed is that the law sees, in words.
func (r *Result) age() string {
	turns, dead := r.Fit.Law[fit.Turns], r.Fit.Law[fit.DeadTime]
	switch {
	case turns > 0 && dead == 0:
		return fmt.Sprintf("%.2g turns", turns)
	case turns > 0:
		return fmt.Sprintf("%.2g turns and %.2g ms", turns, 1e3*dead)
	}
	return fmt.Sprintf("%.2g ms", 1e3*dead)
}

// doubt notes a reason for which the law is not believed, once.
func (r *Result) doubt(format string, args ...any) {
	if why := fmt.Sprintf(format, args...); !slices.Contains(r.Doubts, why) {
		r.Doubts = append(r.Doubts, why)
	}
}
