package procedure

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/step"
	"govrig/sim/machine"
)

// TuneBriefing is that of Tune.
var TuneBriefing = governedBriefing("Finds out which position of the governor's gain suits the machine; you turn the gain, the rig measures.")

// TuneOptions are those of Tune.
type TuneOptions struct {
	Speed string // name of the speed setting; empty is the first
	// Positions is how many positions are measured at most; 0 is twenty.
	Positions int
}

// TunePoint is one position of the gain.
type TunePoint struct {
	// Position counts from where the gain stood at the start, in steps as the
	// person turned them, up or down.
	Position int
	// Gain is the governor's proportional gain as measured, µs of throttle
	// pulse for 1000 rpm.
	Gain float64
	// Phase (degrees), Margin (dB) and Sensitivity are the worst of the two
	// loads. Phase is NaN where the loop's gain stays below 1 at all that was
	// measured; Margin is +Inf where the gain could be raised without end.
	Phase, Margin, Sensitivity float64
	// Dip (%) and Recovery (s) are of the load step; Recovery is not OK where
	// the speed did not come back in time.
	Dip      float64
	Recovery measure.Reading
	// Why says why the position could not be measured; the rest is then
	// nothing.
	Why string
}

// calm tells whether the point keeps the target that advice aims at.
func (p TunePoint) calm() bool {
	return p.Why == "" && p.Phase >= adviceTarget.Phase && p.Margin >= loop.Decibels(adviceTarget.Gain) &&
		p.Sensitivity <= adviceTarget.Sensitivity
}

// tunePlan is where the stand-in's knob is turned when nobody has to: down
// first, as a careful person would, then up.
var tunePlan = []int{-2, 2, 2, 2, 2, 2}

// mostPositions is how many positions are measured where nobody says stop.
const mostPositions = 20

// Tune measures the loop at one position of the governor's gain after the
// other, and says which one to keep. It never assumes which way the gain
// works.
func Tune(ctx context.Context, b *Bench, o TuneOptions) (*Run, error) {
	setting, err := choose(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	declared := tuneMeasures(setting)
	return b.run(ctx, plan{name: "tune", options: o, setting: setting, declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, setting)
		if ok, err := g.spoolUp(t, declared); !ok {
			return err
		}
		tu := tuning{t: t, g: g, most: o.Positions}
		if tu.most == 0 {
			tu.most = mostPositions
		}
		if err := tu.positions(); err != nil {
			return err
		}
		tu.conclude()
		return nil
	}})
}

// tuning is a tune under way.
type tuning struct {
	t     *test
	g     *governed
	sweep Sweep
	most  int
	at    int // position
	turns int
}

// positions measures where the gain stands, and goes on as long as it is
// turned.
func (u *tuning) positions() error {
	for {
		if err := u.measure(); err != nil {
			return err
		}
		more, err := u.turn()
		if err != nil || !more {
			return err
		}
	}
}

// turn has the gain turned by one step.
func (u *tuning) turn() (more bool, err error) {
	if u.turns++; u.turns >= u.most {
		return false, nil
	}
	if stand := u.t.bench.StandIn; stand != nil {
		if u.turns > len(tunePlan) {
			return false, nil
		}
		clicks := tunePlan[u.turns-1]
		stand.Turn(float64(clicks))
		u.at += clicks / 2
		return true, nil
	}
	answer, err := u.t.ask(Question{
		Key:     "gain",
		Text:    "Turn the governor's gain by one step of your own choice, and say which way you turned it, or stop when you have seen enough",
		Answers: []string{"up", "down", "stop"},
	}, u.g.phase("waiting", 1))
	if errors.Is(err, ErrNotAsked) {
		u.t.sheet.Warn("nobody was there to turn the gain: only one position was measured")
		return false, nil
	}
	switch answer {
	case "up":
		u.at++
	case "down":
		u.at--
	}
	return answer != "stop", err
}

// measure measures the present position.
func (u *tuning) measure() error {
	u.sweep.share = 0 // another gain bears another sway
	point := TunePoint{Position: u.at, Phase: math.Inf(1), Margin: math.Inf(1)}
	m := u.g.m
	for _, p := range sweepPoints(m, []machine.SpeedSetting{u.g.setting}) {
		if err := u.sweep.measure(u.t, u.g, &p); err != nil {
			var unswept *unsweptError
			if !errors.As(err, &unswept) {
				return err
			}
			point = TunePoint{Position: u.at, Why: unswept.why}
			break
		}
		point.worst(&p)
	}
	if point.Why == "" {
		if err := u.loadStep(&point); err != nil {
			return err
		}
	}
	u.t.run.Tune = append(u.t.run.Tune, point)
	u.t.found("%s", point)
	return nil
}

// worst takes the margins of a point where they are worse.
func (p *TunePoint) worst(s *SweepPoint) {
	p.Gain = s.Fit.Kp * 1e3
	phase := math.NaN()
	if s.Margins.Phase.OK() {
		phase = s.Margins.Phase.Value
	}
	p.Phase = math.Min(p.Phase, phase)
	if s.Margins.Gain.OK() {
		p.Margin = math.Min(p.Margin, loop.Decibels(s.Margins.Gain.Value))
	}
	p.Sensitivity = math.Max(p.Sensitivity, s.Margins.Sensitivity.Value)
}

// loadStep plays the machine's load on at the present position.
func (u *tuning) loadStep(point *TunePoint) error {
	load := u.g.m.LoadStep
	hold, ramp := float64(load.Hold), float64(load.Ramp)
	before := u.g.load("light", float64(load.CollectiveLow), ramp, 4)
	on := u.g.load(phaseOn, float64(load.CollectiveHigh), ramp, hold)
	part, _, err := u.t.play(before, on)
	if err != nil {
		return err
	}
	from, _ := part.phase(before.Name)
	event, to := part.phase(on.Name)
	found := step.AnalyseLoad(part.speed(from, to), step.LoadConfig{
		Windows:  step.Windows{Event: part.Time[event], Before: beforeTime},
		Declared: u.g.declared(), Tolerance: tolerance,
	})
	point.Dip, point.Recovery = found.FromInitial.Value, found.RecoveryFromEvent
	if !found.FromInitial.OK() {
		point.Why = found.FromInitial.Why
	}
	return nil
}

func (p TunePoint) String() string {
	if p.Why != "" {
		return fmt.Sprintf("Gain at %+d: not measured, %s.", p.Position, p.Why)
	}
	back := "not back in time"
	if p.Recovery.OK() {
		back = fmt.Sprintf("back in %.2f s", p.Recovery.Value)
	}
	phase, margin := fmt.Sprintf("%.0f°", p.Phase), fmt.Sprintf("%.1f dB", p.Margin)
	if math.IsNaN(p.Phase) {
		phase = "not known, so low is the gain"
	}
	if math.IsInf(p.Margin, 0) {
		margin = "without end"
	}
	return fmt.Sprintf("Gain at %+d: %.0f µs for 1000 rpm, phase margin %s, gain margin %s, dip %.1f %%, %s.",
		p.Position, p.Gain, phase, margin, p.Dip, back)
}

// conclude reads the measures from all positions and says what to keep.
func (u *tuning) conclude() {
	t, points := u.t, u.t.run.Tune
	t.sheet.Set("positions_measured", float64(len(points)))
	t.sheet.Take("gain_per_step", gainPerStep(points))
	best, ok := recommend(points)
	if !ok {
		for _, name := range []string{"recommended_position", "recommended_phase_margin", "recommended_gain_margin", "recommended_dip", "recommended_recovery"} {
			t.sheet.NotRun(name, "no position keeps 45° and 6 dB")
		}
		u.noneGood()
		return
	}
	t.sheet.Set("recommended_position", float64(best.Position))
	t.sheet.Set("recommended_phase_margin", best.Phase)
	if math.IsInf(best.Margin, 0) {
		t.sheet.NotRun("recommended_gain_margin", "the gain could be raised without end")
	} else {
		t.sheet.Set("recommended_gain_margin", best.Margin)
	}
	t.sheet.Set("recommended_dip", best.Dip)
	t.sheet.Take("recommended_recovery", best.Recovery)
	t.found("Of the positions that keep 45° of phase margin and 6 dB of gain margin, %+d dips least: %.1f %%.", best.Position, best.Dip)
	t.next("Leave the gain at %+d, counted from where it stood at the start, and run loadstep and sweep again to confirm.", best.Position)
}

// noneGood says why no position will do.
func (u *tuning) noneGood() {
	var why []string
	for _, p := range u.t.run.Tune {
		if p.Why != "" {
			why = append(why, p.Why)
		}
	}
	s := u.g.m.Servo
	u.t.found("No position that was measured keeps 45° of phase margin and 6 dB of gain margin.")
	if len(why) > 0 {
		u.t.found("Some could not be measured at all: %s.", strings.Join(compact(why), "; "))
	}
	u.t.found("What takes the margin besides the gain: servo (%.0f ms for 60°, %.1f° play), linkage slope (see plan), the governor's own delay (see sweep).",
		float64(s.Time60)*1e3, float64(s.Backlash)*degrees)
	u.t.next("Try less gain; if that does not help, look at servo speed, play, and the linkage slope in the set-up sheet.")
}

// compact leaves out repeats.
func compact(lines []string) (out []string) {
	seen := map[string]bool{}
	for _, line := range lines {
		if !seen[line] {
			seen[line] = true
			out = append(out, line)
		}
	}
	return out
}

// recommend gives the calm position that dips least.
func recommend(points []TunePoint) (best TunePoint, ok bool) {
	for _, p := range points {
		if p.calm() && (!ok || p.Dip > best.Dip) {
			best, ok = p, true
		}
	}
	return best, ok
}

// gainPerStep is the factor by which one step up changes the gain, from the
// two positions farthest apart.
func gainPerStep(points []TunePoint) measure.Reading {
	var low, high *TunePoint
	for i := range points {
		p := &points[i]
		if p.Why != "" {
			continue
		}
		if low == nil || p.Position < low.Position {
			low = p
		}
		if high == nil || p.Position > high.Position {
			high = p
		}
	}
	if low == nil || low.Position == high.Position {
		return measure.Missing("the gain was measured at one position only")
	}
	return measure.Read(math.Pow(high.Gain/low.Gain, 1/float64(high.Position-low.Position)))
}

func tuneMeasures(setting machine.SpeedSetting) []measure.Declaration {
	dip, _ := deviations(setting.Limits)
	return []measure.Declaration{
		{Name: "positions_measured", Unit: "1", Meaning: "At how many positions of the gain the loop was measured."},
		{
			Name: "gain_per_step", Unit: "1", Optional: true,
			Meaning: "By what one step up multiplies the gain; below 1 the knob works the other way round.",
		},
		{Name: "recommended_position", Unit: "1", Meaning: "The position to keep, counted in steps from where the gain stood at the start."},
		{Name: "recommended_phase_margin", Unit: "°", Limit: measure.AtLeast(adviceTarget.Phase), Convention: textbook, Meaning: "Phase margin there, at the worse of light and heavy load."},
		{Name: "recommended_gain_margin", Unit: "dB", Optional: true, Limit: measure.AtLeast(6), Convention: textbook, Meaning: "Gain margin there, at the worse of light and heavy load."},
		{
			Name: "recommended_dip", Unit: "%", Limit: dip, Meaning: "Dip on load on there.",
			Convention: "transient difference from the speed before the load, in % of the declared speed",
		},
		{
			Name: "recommended_recovery", Unit: "s", Optional: true, Meaning: "How long the speed takes to come back there.",
			Convention: "from the load change to the lasting return into a band of 2 % of the declared speed (full width)",
		},
	}
}
