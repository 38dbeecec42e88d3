package predict

import (
	"fmt"
	"io"
	"math"
	"strings"

	"govrig/sim/machine"
	"govrig/sim/words"
)

// Start is which gain to start from with a known governor on a machine, and whether
// it can hold the machine at all.
type Start struct {
	Governor string `json:"governor"`
	// Notes are those of the governor file.
	Notes string `json:"notes,omitempty"`
	// Factor is the gain to start from, relative to that at which the governor was
	// measured; 0 where there is none.
	Factor float64 `json:"gain_factor"`
	// Holds is set where it holds every speed setting within its limits.
	Holds bool `json:"holds"`
	// CannotTell says why nothing can be told; empty is that it can.
	CannotTell string `json:"cannot_tell,omitempty"`
	// Why are the reasons against it, or what sets the gain.
	Why []string `json:"why"`
	// Steps are the load steps with that gain, at each speed setting.
	Steps []StartStep `json:"load_steps"`
}

// StartStep is the load step at a speed setting.
type StartStep struct {
	Setting string `json:"setting"`
	Cell
}

// The gains that are looked at: half octaves, as a knob's clicks may be, from an
// eighth to eight times.
const leastClick, mostClick = -6, 6

// NewStart works out the start with the governor that the machine's virtual runs have.
// The highest gain that keeps the margins everywhere dips least; what is advised is
// one half octave below it, and no more than was measured unless a limit wants it.
func NewStart(m *machine.Machine) (*Start, error) {
	s := &Start{Why: []string{}}
	if m.Other != nil {
		s.Governor, s.Notes = m.Other.Name, m.Other.Notes
		if m.Other.Law.Gain == nil {
			s.CannotTell = "its law is not known"
		} else if m.Other.Fit.LoadStep == "differs" {
			s.CannotTell = "the load step that its law predicts is not the one that was measured: the governor is not what its answer over frequency says"
		}
	}
	if s.CannotTell != "" {
		return s, nil
	}
	var trials []*trial
	for _, setting := range m.Speeds {
		t, err := trialOf(m, setting)
		if err != nil {
			s.Why = append(s.Why, fmt.Sprintf("%s: %s", setting.Name, problem(err)))
			return s, nil
		}
		trials = append(trials, t)
	}
	highest, err := highestClick(trials)
	if err != nil {
		return nil, err
	}
	if highest < leastClick {
		s.Why = append(s.Why, fmt.Sprintf("at no gain down to an eighth of the measured does every setting keep %.0f° and a gain margin of %.0f dB: this governor cannot hold it", leastPhaseMargin, 20*math.Log10(leastGainMargin)))
		return s, nil
	}
	first := min(highest-1, 0)
	for click := max(first, leastClick); click <= highest; click++ {
		if err := s.try(m, trials, click); err != nil || s.Holds {
			return s, err
		}
	}
	return s, nil
}

// highestClick is the highest gain that keeps the margins at every setting and both
// loads; below leastClick there is none.
func highestClick(trials []*trial) (int, error) {
	for click := mostClick; click >= leastClick; click-- {
		kept := true
		for _, t := range trials {
			var c Cell
			if err := t.addMargins(&c, t.gov.Gain*factor(click), t.gov.IntegralTime); err != nil {
				return 0, err
			}
			kept = kept && (c.GainMargin == nil || *c.GainMargin >= leastGainMargin) && (c.PhaseMargin == nil || *c.PhaseMargin >= leastPhaseMargin)
		}
		if kept {
			return click, nil
		}
	}
	return leastClick - 1, nil
}

func factor(click int) float64 { return math.Exp2(float64(click) / 2) }

// try simulates the load step of each setting with a gain.
func (s *Start) try(m *machine.Machine, trials []*trial, click int) error {
	s.Factor, s.Steps, s.Why, s.Holds = factor(click), nil, []string{}, true
	for i, t := range trials {
		cell, err := t.cell(samples(lead+watch(m)), t.gov.Gain*s.Factor, t.gov.IntegralTime)
		if err != nil {
			return err
		}
		name := m.Speeds[i].Name
		s.Steps = append(s.Steps, StartStep{name, cell})
		switch {
		case cell.Outcome != Holds:
			s.Why = append(s.Why, name+": "+cell.Why)
		case len(cell.Misses) > 0:
			s.Why = append(s.Why, name+": misses "+strings.Join(cell.Misses, ", "))
		}
		s.Holds = s.Holds && cell.Good()
	}
	return nil
}

// WriteText lays it out for a person, below the sheet.
func (s *Start) WriteText(w io.Writer) error {
	t := &page{}
	t.line("\nWITH THIS GOVERNOR   %s", s.Governor)
	switch {
	case s.CannotTell != "":
		t.item("  ", "Cannot tell whether it can hold this machine: "+s.CannotTell+".")
	case s.Holds:
		t.item("  ", "It can hold this machine. Start with "+s.gain()+".")
	case s.Factor == 0:
		t.item("  ", "Whether it can hold this machine: no.")
	default:
		t.item("  ", "It cannot hold every speed within its limits. The nearest is "+s.gain()+".")
	}
	if s.Notes != "" {
		t.item("  - ", s.Notes)
	}
	for _, why := range s.Why {
		t.item("  - ", why+".")
	}
	for i := range s.Steps {
		t.item("  ", s.Steps[i].Setting+": "+s.Steps[i].plain()+".")
	}
	t.item("  ", "Simulated, from what was identified on another machine; prove it on the bench.")
	_, err := io.WriteString(w, t.String())
	return err
}

// gain says the factor in words.
func (s *Start) gain() string {
	if s.Factor == 1 {
		return "the gain at which it was measured"
	}
	return fmt.Sprintf("%s times the gain at which it was measured", words.Number(math.Round(100*s.Factor)/100))
}

// plain are the load step and the margins in words.
func (c *Cell) plain() string {
	if c.Outcome != Holds {
		return c.Why
	}
	return fmt.Sprintf("a load step dips by %.1f %% and is back after %.2f s, gain and phase margin %s", -*c.Deviation, *c.Recovery, c.margins())
}
