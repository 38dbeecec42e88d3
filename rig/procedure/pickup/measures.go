package pickup

import (
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/train"
	"govrig/sim/machine"
)

// pickupMeasures declares the measures, with the limits that follow from the
// machine file.
func pickupMeasures(m *machine.Machine, j *judge) []measure.Declaration {
	governor := float64(j.governor)
	width := measure.Declaration{
		Name: "pulse_width", Unit: "%",
		Meaning: "Share of the turn that one pulse takes; it tells how magnet and sensor stand to each other.",
	}
	if j.high > 0 {
		width.Limit = measure.Between(j.low, j.high)
		width.Convention = "limit: what the machine file's pickup gives at its gap, a quarter wider or narrower; 3 % for the reading"
	}
	field := measure.Declaration{
		Name: "field_margin", Unit: "1",
		Meaning:    "Field at the sensor over the field that the least sensitive part of its kind needs.",
		Convention: "from the width, by the field model; limit: common practice, no source",
	}
	if j.book.Tells() {
		field.Limit = measure.AtLeast(leastMargin)
	} else {
		field.Optional = true
	}
	declared := []measure.Declaration{
		{
			Name: "pulses_per_turn", Unit: "1", Limit: measure.Between(governor, governor),
			Meaning: "How many pulses one turn of the crankshaft gives; the limit is what the governor is set to.",
		},
		{
			Name: "active_level_as_told", Unit: "1", Limit: measure.AtLeast(1),
			Meaning: fmt.Sprintf("1 when the line goes %s while a magnet is felt, as the machine file says; 0 when it is the other way round.", m.Pickup.Active),
		},
		width, field,
		{Name: "estimated_gap", Unit: "mm", Optional: true, Meaning: "Air between magnet and sensor, as the width tells."},
		{Name: "missing_pulses", Unit: "%", Limit: measure.AtMost(0), Meaning: "Pulses that should have come and did not."},
		{Name: "extra_pulses", Unit: "%", Limit: measure.AtMost(0), Meaning: "Pulses that came in between."},
	}
	if j.parts > 1 {
		declared = append(declared, measure.Declaration{
			Name: "spacing_difference", Unit: "%", Limit: measure.AtMost(100 * mostSpacing), Convention: "limit: common practice, no source",
			Meaning: "How far a magnet is from its even place in the turn; the governor takes it for a change of speed.",
		}, measure.Declaration{
			Name: "width_difference", Unit: "%", Limit: measure.AtMost(100 * mostWidth), Convention: "limit: common practice, no source",
			Meaning: "How much the pulses of the magnets differ in width: magnets of other strength, or at another distance.",
		})
	}
	declared = append(declared, levelMeasures(m)...)
	return append(declared,
		measure.Declaration{Name: "turning_speed", Unit: "rpm", Optional: true, Meaning: "How fast the shaft was turned."},
		measure.Declaration{Name: "slowest_speed", Unit: "rpm", Optional: true, Meaning: "Slowest turn from which pulses still came. Slower was not tried, or gave none."},
	)
}

// conclude judges what came last, takes the measures and says what it means.
func (p *probing) conclude() error {
	p.level = p.Loop.High()
	s := p.read(newestPulses(p.pulses, p.judge.is.PulsesPerRev))
	v, err := p.askGap(p.judge.verdict(s))
	if err != nil {
		return err
	}
	p.pickup.Turning, p.pickup.Verdict = s.Turning, v
	p.takeCount(s)
	p.takePulses(s, v)
	p.takeMounting(s, v)
	p.tell(s, v)
	p.takeLevels()
	return nil
}

func (p *probing) takeCount(s seen) {
	const name = "pulses_per_turn"
	switch {
	case s.pulses == 0 && p.turned:
		p.Sheet.Set(name, 0)
	case s.pulses == 0:
		p.Sheet.NotRun(name, "no pulses came, and it is not known whether the shaft turned")
	case p.counted == 0 && p.o.Turning == 0:
		p.Sheet.NotRun(name, "nobody said how many turns it were, or how fast")
	case math.Abs(s.exact-math.Round(s.exact)) > notWhole:
		p.Sheet.Set(name, math.Round(100*s.exact)/100)
	default:
		p.Sheet.Set(name, math.Round(s.exact))
	}
}

// unevenTurning is the scatter of the widths beyond which they tell nothing.
const unevenTurning = 0.05

func (p *probing) takePulses(s seen, v PickupVerdict) {
	take := func(name string, ok bool, why string, value float64) {
		if ok {
			p.Sheet.Set(name, value)
		} else {
			p.Sheet.NotRun(name, why)
		}
	}
	const none, unlike = "no pulses came", "no three turns in a row were alike"
	why := unlike
	if s.pulses == 0 {
		why = none
	}
	told := 1.0
	if p.flipped {
		told = 0
	}
	take("active_level_as_told", s.pulses > 0, none, told)
	take("missing_pulses", s.ok, why, 100*float64(s.Missing)/float64(max(1, s.Pulses+s.Missing)))
	take("extra_pulses", s.ok, why, 100*float64(s.Extra)/float64(max(1, s.Pulses)))
	take("turning_speed", s.ok, why, 60*s.Speed)
	slowest := train.Slowest(p.all, max(1, s.PerTurn))
	take("slowest_speed", s.ok && slowest > 0, why, 60*slowest)
	if s.ok && s.Scatter > unevenTurning {
		p.Sheet.NotRun("pulse_width", fmt.Sprintf("the shaft was turned too unevenly: the widths scatter by %.0f %%", 100*s.Scatter))
	} else {
		take("pulse_width", s.ok, why, 100*s.Width())
	}
	if p.judge.parts > 1 {
		alike := s.ok && s.PerTurn%p.judge.parts == 0
		if s.ok {
			why = "the pulses are not as many as the magnets"
		}
		take("spacing_difference", alike, why, 100*v.Spacing)
		take("width_difference", alike, why, 100*v.Width)
	}
}

func (p *probing) takeMounting(s seen, v PickupVerdict) {
	gap, ok := v.gap()
	why := "the pulses do not tell the gap for sure"
	if p.gapUntold {
		ok, why = false, "pulses of this width come from two gaps, and nobody said which it is"
	}
	if !ok {
		p.Sheet.NotRun("estimated_gap", why)
		p.Sheet.NotRun("field_margin", why)
		return
	}
	c, _ := v.asFiled()
	p.Sheet.Set("estimated_gap", 1e3*gap)
	p.Sheet.Set("field_margin", fieldMargin(c))
}
