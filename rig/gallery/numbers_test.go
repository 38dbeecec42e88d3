package gallery

import (
	"fmt"
	"math"

	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/gallery"
)

// number is a measure that must be what is true of the governor, where it was
// taken at all.
type number struct {
	measure         string
	truth, allowing float64
}

// numbers are those of a member on a machine.
func numbers(m *machine.Machine, member gallery.Member) (all []number) {
	w := gallery.WiringOf(m, board.TickHz)
	g := member.New(w, 0)
	plant := heli.New(m.HeliParams(), 250e-6)
	for i, setting := range m.Speeds {
		for load, pitch := range map[string]float64{"light": float64(m.LoadStep.CollectiveLow), "heavy": float64(m.LoadStep.CollectiveHigh)} {
			l, err := plant.Linearise(float64(setting.HeadSpeed), pitch)
			if err != nil {
				continue
			}
			truth := g.Truth(member.Kind, l.EngineSpeed, l.ThrottlePulse)
			if i == 0 && load == "light" {
				all = append(all, lineNumbers(truth)...)
			}
			if margins, ok := g.Margins(&l); ok && truth.Select == gallery.Straight && truth.Reads == 1 {
				all = append(all, loopNumbers(margins, suffix(m, setting)+"_"+load)...)
			}
		}
	}
	return all
}

func suffix(m *machine.Machine, s machine.SpeedSetting) string {
	if len(m.Speeds) == 1 {
		return ""
	}
	return "_" + s.Name
}

// lineNumbers are of the throttle line and of the stick, as throttle measures
// them: within 0.2 %, and the step within half of itself; a finer one than can be
// seen is told as at or below that.
func lineNumbers(t gallery.Truth) []number {
	return []number{
		{"output_frame_rate", t.FrameRate, 0.002 * t.FrameRate},
		{"output_step", 1e6 * t.OutputStep, math.Max(0.5e6*t.OutputStep, 0.26)}, // half a microsecond is as fine as can be seen
		{"arming_threshold", 100 * t.EngagesAt, 0.2},
		{"release_threshold", 100 * t.DisengagesAt, 0.2},
	}
}

// loopNumbers are of the loop, as sweep measures them: within 0.3 dB and 1°, or as
// far as they say themselves.
func loopNumbers(m gallery.Margins, suffix string) []number {
	return []number{{"phase_margin" + suffix, m.Phase, 1}, {"gain_margin" + suffix, m.Gain, 0.3}}
}

// loadSteps are what the load step does to some members at the medium machine's first
// setting, as the gallery's own test of it, without a rig, has them: dips within
// 0.3 % of the wanted speed, recoveries within a fifth. (Recovery is counted from
// the load change there, from the way out of the steady band here.)
var loadSteps = map[string][]number{
	"pid":           loadStep(-2.86, 1.5),
	"lockout":       loadStep(-3.0, 1.4),
	"slow integral": loadStep(-3.60, 9.1),
}

func loadStep(dip, back float64) []number {
	return []number{{"transient_deviation_load_on_hover", dip, 0.3}, {"recovery_time_load_on_hover", back, back / 5}}
}

// off are the measures of a run that are not what is true.
func off(m *machine.Machine, member gallery.Member, s *seen) (why []string) {
	for _, n := range append(numbers(m, member), loadSteps[member.Name]...) {
		value, taken := s.Values[n.measure]
		bound := s.Bounds[n.measure] && value <= n.truth
		if taken && !bound && !(math.Abs(value-n.truth) <= math.Max(n.allowing, s.Unsure[n.measure])) {
			why = append(why, fmt.Sprintf("measures %s as %.4g, true is %.4g", n.measure, value, n.truth))
		}
	}
	return why
}
