package measure

import (
	"fmt"
	"math"
)

// Known reports whether o is one of the outcomes.
func (o Outcome) Known() bool {
	return o == Pass || o == Fail || o == NotRun || o == Error
}

// largest is beyond every value that is measured, in any unit.
const largest = 1e15

// Check refuses a result that no Sheet gives: somebody else may have written it.
func (r *Result) Check() error {
	if !r.Outcome.Known() {
		return fmt.Errorf("there is no outcome %.50q", r.Outcome)
	}
	seen := map[string]bool{}
	for i := range r.Measures {
		m := &r.Measures[i]
		if seen[m.Name] {
			return fmt.Errorf("the measure %.50q stands there twice", m.Name)
		}
		seen[m.Name] = true
		if err := m.check(); err != nil {
			return fmt.Errorf("measure %.50q: %w", m.Name, err)
		}
	}
	return r.agrees()
}

func (m *Measure) check() error {
	if err := m.Limit.Validate(); err != nil {
		return err
	}
	switch {
	case !m.Outcome.Known():
		return fmt.Errorf("there is no outcome %.50q", m.Outcome)
	case m.Value != nil && !(math.Abs(*m.Value) <= largest):
		return fmt.Errorf("the value %g makes no sense", *m.Value)
	case (m.Outcome == Pass || m.Outcome == Fail) != (m.Value != nil):
		return fmt.Errorf("its outcome %s does not agree with its value", m.Outcome)
	case m.Value != nil && m.Limit.Met(*m.Value) != (m.Outcome == Pass):
		return fmt.Errorf("its outcome is %s, at %g with the limit %s", m.Outcome, *m.Value, m.Limit)
	}
	return nil
}

// agrees holds the outcome of the whole against those of the measures, as far as
// they tell.
func (r *Result) agrees() error {
	worst := Pass
	for i := range r.Measures {
		switch o := r.Measures[i].Outcome; {
		case o == Error, o == Fail && worst != Error:
			worst = o
		}
	}
	if worst == Error && r.Outcome != Error || worst == Fail && r.Outcome != Fail && r.Outcome != Error || worst == Pass && r.Outcome == Fail {
		return fmt.Errorf("its outcome is %s, though that of a measure is %s", r.Outcome, worst)
	}
	return nil
}
