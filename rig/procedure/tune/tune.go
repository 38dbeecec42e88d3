package tune

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/rig/procedure/sweep"
	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

// TunePoint is one position of the gain.
type TunePoint struct {
	// Position counts from where the gain stood at the start, in steps as the
	// person turned them, up or down.
	Position int
	// Gain is the governor's proportional gain as measured, µs of throttle
	// pulse for 1000 rpm.
	Gain float64
	// Phase (degrees), Margin (dB) and Sensitivity are the worst of the two
	// loads. Phase is NaN where the loop's gain does not cross 1 at what was
	// measured; Margin is NaN where nothing is known of it.
	Phase, Margin, Sensitivity float64
	// AtLeast: Margin is what is sure, as far as was measured, and may be more.
	AtLeast bool
	// Dip (%) and Recovery (s) are of the load step; Recovery is not OK where
	// the speed did not come back in time.
	Dip      float64
	Recovery measure.Reading
	// Why says why the position could not be measured; the rest is then
	// nothing.
	Why    string
	unheld bool // the speed, so that there was nothing steady to measure
	dead   bool // a dead band leaves it no margins, whatever its gain
}

// calm reports whether the point keeps the target that advice aims at.
func (p TunePoint) calm() bool {
	return p.Why == "" && p.Phase >= sweep.AdviceTarget.Phase && p.Margin >= loop.Decibels(sweep.AdviceTarget.Gain) &&
		p.Sensitivity <= sweep.AdviceTarget.Sensitivity
}

// tunePlan is where the stand-in's knob is turned when nobody has to: down
// first, as a careful person would, then up.
var tunePlan = []int{-2, 2, 2, 2, 2, 2}

// mostPositions is how many positions are measured where nobody says stop.
const mostPositions = 20

// run measures the loop at one position of the governor's gain after the other,
// and says which one to keep. It never assumes which way the gain works.
func (u *tuning) run(ctx context.Context, b *execution.Bench, o *Options) (*execution.Run, error) {
	setting, err := o.Setting(b.Machine)
	if err != nil {
		return nil, err
	}
	declared := tuneMeasures(setting)
	return b.Run(ctx, execution.Plan{Name: Procedure.Name, Reads: Procedure.Reads, Options: o, Setting: setting, Declared: declared, Body: func(t *execution.Test) error {
		u.t, u.g, u.most, u.told = t, governed.New(b.Machine, setting), o.Positions, map[finding.UnheldKind]bool{}
		if u.most == 0 {
			u.most = mostPositions
		}
		return u.whole(declared)
	}})
}

// tuning is a tune under way.
type tuning struct {
	t      *execution.Test
	g      *governed.Governor
	sweep  sweep.Sweep
	points []TunePoint
	most   int
	at     int // position
	turns  int
	held   bool            // the governor holds its speed
	failed governed.Unheld // why it does not
	hunted []governed.Swing
	told   map[finding.UnheldKind]bool
}

// whole takes the governor up, turns, measures and concludes.
func (u *tuning) whole(declared []measure.Declaration) error {
	part, err := u.takeUp()
	if err != nil {
		return err
	}
	if !u.held && !u.failed.Hunts() {
		u.g.TakeEngaged(u.t)
		return u.g.NotHeld(u.t, &part, declared)
	}
	if err := u.positions(); err != nil {
		return err
	}
	u.g.TakeEngaged(u.t)
	u.conclude()
	if len(u.hunted) == 0 || u.held {
		return nil
	}
	return u.g.TellCauses(u.t, u.hunted[len(u.hunted)-1])
}

// takeUp brings the governor up and to its speed; where it does not hold that, failed
// is why.
func (u *tuning) takeUp() (part execution.Trace, err error) {
	if part, u.held, err = u.g.TakeUp(u.t); err == nil && u.held {
		_, part, u.held, err = u.g.Seek(u.t)
	}
	if err != nil || u.held {
		return part, err
	}
	u.failed = u.g.Unheld(&part)
	return part, nil
}

// positions measures where the gain stands, and goes on as long as it is turned. A
// governor that hunts is taken up anew after each turn.
func (u *tuning) positions() error {
	for {
		measure := u.measure
		if !u.held {
			measure = u.unheld
		}
		if err := measure(); err != nil {
			return err
		}
		more, err := u.turn()
		if err == nil && more && !u.held {
			_, err = u.takeUp()
		}
		if err != nil || !more {
			return err
		}
	}
}

// turn has the gain turned by one step.
func (u *tuning) turn() (more bool, err error) {
	if u.turns++; u.turns >= u.most || u.points[len(u.points)-1].dead {
		return false, nil
	}
	if knob, ok := u.t.Bench.StandIn.(governor.Knob); ok {
		return u.turnStandIn(knob), nil
	}
	text := "Turn the governor's gain by one step of your own choice, and say which way you turned it, or stop when you have seen enough"
	switch {
	case !u.held && u.failed.Hunts():
		text = "The governor hunts. Turn its gain down by one step of your own choice, and say which way you turned it, or stop"
	case !u.held:
		text = "The governor does not hold a speed here. Turn its gain back by one step of your own choice, and say which way you turned it, or stop"
	}
	answer, err := u.t.Ask(execution.Question{
		Key:     "gain",
		Text:    text,
		Answers: []string{"up", "down", "stop"},
	}, u.g.Phase(phase.Of(phase.Waiting), 1))
	if errors.Is(err, execution.ErrNotAsked) {
		u.t.Sheet.Warn("nobody was there to turn the gain: only one position was measured")
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

// turnStandIn turns the stand-in's knob by the plan; one that hunts at the start,
// down until it is calm.
func (u *tuning) turnStandIn(knob governor.Knob) (more bool) {
	if u.turns > len(tunePlan) {
		return false
	}
	clicks := tunePlan[u.turns-1]
	if u.points[0].unheld {
		if u.points[len(u.points)-1].calm() {
			return false
		}
		clicks = -2
	}
	knob.Turn(float64(clicks))
	u.at += clicks / 2
	return true
}

// unheld notes a position at which the governor holds no speed, and says why, each
// reason once.
func (u *tuning) unheld() error {
	why := "the governor does not hold its speed there"
	switch kind := u.failed.Unheld.Kind; {
	case u.failed.Hunts():
		swing := u.failed.Swing
		u.g.TellHunting(u.t, swing)
		u.hunted = append(u.hunted, swing)
		why = fmt.Sprintf("the governor hunts, %.2g times a second", swing.Frequency)
	case !u.told[kind]:
		u.told[kind] = true
		u.g.Explain(u.t, u.failed)
	}
	u.note(TunePoint{Position: u.at, Why: why, unheld: true})
	return nil
}

// note keeps a position, and says what was found there.
func (u *tuning) note(p TunePoint) {
	u.points = append(u.points, p)
	u.t.Run.Gains = keptGains(u.points)
	u.t.Found("%s", p)
}

// measure measures the present position.
func (u *tuning) measure() error {
	u.sweep.Share = 0 // another gain bears another sway
	point := TunePoint{Position: u.at, Phase: math.Inf(1), Margin: math.Inf(1)}
	m := u.g.Machine
	for _, p := range sweep.SweepPoints(m, []machine.SpeedSetting{u.g.Setting}) {
		err := u.sweep.Point(u.t, u.g, &p, false)
		var unswept *sweep.UnsweptError
		switch {
		case errors.As(err, &unswept):
			point = TunePoint{Position: u.at, Why: unswept.Why}
		case err != nil:
			return err
		case p.DeadBand > 0:
			point = TunePoint{Position: u.at, Why: p.WhyNoMargins(), dead: true}
			p.TellDeadBand(u.t)
		default:
			point.worst(&p)
			continue
		}
		break
	}
	if point.Why == "" {
		if err := u.loadStep(&point); err != nil {
			return err
		}
	}
	u.note(point)
	return nil
}

// worst takes the margins of a point where they are worse.
func (p *TunePoint) worst(s *sweep.SweepPoint) {
	p.Gain = s.Gain()
	phase := math.NaN()
	if s.Margins.Phase.OK() {
		phase = s.Margins.Phase.Value
	}
	p.Phase = math.Min(p.Phase, phase)
	margin := math.NaN()
	if s.Margins.GainAtLeast.OK() {
		margin = loop.Decibels(s.Margins.GainAtLeast.Value)
	}
	if !(margin >= p.Margin) { // NaN too
		p.Margin, p.AtLeast = math.Min(p.Margin, margin), !s.Margins.Gain.OK()
	}
	p.Sensitivity = math.Max(p.Sensitivity, s.Margins.Sensitivity.Value)
}

// loadStep plays the machine's load on at the present position.
func (u *tuning) loadStep(point *TunePoint) error {
	load := u.g.Machine.LoadStep
	hold, ramp := float64(load.Hold), float64(load.Ramp)
	before := u.g.Load(phase.Of(phase.LightAgain), float64(load.CollectiveLow), ramp, 4)
	on := u.g.Load(phase.Of(phase.LoadOn), float64(load.CollectiveHigh), ramp, hold)
	part, _, err := u.t.Play(before, on)
	if err != nil {
		return err
	}
	from, _ := part.Span(before.Key)
	event, to := part.Span(on.Key)
	found := step.AnalyseLoad(part.EngineSpeed(from, to), step.LoadConfig{
		Windows:  step.Windows{Event: part.Time[event], Before: governed.BeforeTime},
		Declared: u.g.Declared(), Tolerance: governed.Tolerance,
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
		phase = "not known (the loop does not cross 1 at what was measured)"
	}
	switch {
	case math.IsNaN(p.Margin):
		margin = "not known"
	case p.AtLeast:
		margin = "at least " + margin
	}
	return fmt.Sprintf("Gain at %+d: %.0f µs for 1000 rpm, phase margin %s, gain margin %s, dip %.1f %%, %s.",
		p.Position, p.Gain, phase, margin, p.Dip, back)
}

// conclude reads the measures from all positions and says what to keep.
func (u *tuning) conclude() {
	t, points := u.t, u.points
	measured := 0
	for _, p := range points {
		if p.Why == "" {
			measured++
		}
	}
	t.Sheet.Set("positions_measured", float64(measured))
	t.Sheet.Take("gain_per_step", gainPerStep(points))
	best, ok := recommend(points)
	if !ok {
		for _, name := range []string{"recommended_position", "recommended_phase_margin", "recommended_gain_margin", "recommended_dip", "recommended_recovery"} {
			t.Sheet.NotRun(name, "no position keeps 45° and 6 dB")
		}
		u.noneGood()
		return
	}
	t.Sheet.Set("recommended_position", float64(best.Position))
	t.Sheet.Set("recommended_phase_margin", best.Phase)
	margin := measure.Read(best.Margin)
	if best.AtLeast {
		margin = margin.With("at least: beyond what was measured nothing is known")
	}
	t.Sheet.Take("recommended_gain_margin", margin)
	t.Sheet.Set("recommended_dip", best.Dip)
	t.Sheet.Take("recommended_recovery", best.Recovery)
	t.Found("Of the positions that keep 45° of phase margin and 6 dB of gain margin, %+d dips least: %.1f %%.", best.Position, best.Dip)
	t.Next("Leave the gain at %+d, counted from where it stood at the start, and run loadstep and sweep again to confirm.", best.Position)
	t.Next("For a first flight turn it a step or two towards less gain than that: engine and rotor are estimates here, and the edge may lie nearer than it seems (common practice, no source).")
}

// noneGood says why no position will do.
func (u *tuning) noneGood() {
	var why []string
	for _, p := range u.points {
		if p.Why != "" {
			why = append(why, p.Why)
		}
	}
	if u.points[len(u.points)-1].dead {
		return // whatever the gain
	}
	s := u.g.Machine.Servo
	u.t.Found("No position that was measured keeps 45° of phase margin and 6 dB of gain margin.")
	if len(why) > 0 {
		u.t.Found("Some could not be measured at all: %s.", strings.Join(compact(why), "; "))
	}
	u.t.Found("What takes the margin besides the gain: servo (%.0f ms for 60°, %.1f° play), linkage slope (see plan), the governor's own delay (see sweep).",
		float64(s.Time60)*1e3, float64(s.Backlash)*execution.Degrees)
	u.t.Next("Try less gain; if that does not help, look at servo speed, play, and the linkage slope in the set-up sheet.")
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
	dip, _ := governed.Deviations(setting.Limits)
	return []measure.Declaration{
		governed.EngagedMeasure(),
		{Name: "positions_measured", Unit: "1", Meaning: "At how many positions of the gain the loop was measured."},
		{
			Name: "gain_per_step", Unit: "1", Optional: true,
			Meaning: "By what one step up multiplies the gain; below 1 the knob works the other way round.",
		},
		{Name: "recommended_position", Unit: "1", Meaning: "The position to keep, counted in steps from where the gain stood at the start."},
		{Name: "recommended_phase_margin", Unit: "°", Limit: measure.AtLeast(sweep.AdviceTarget.Phase), Convention: sweep.Textbook, Meaning: "Phase margin there, at the worse of light and heavy load."},
		{Name: "recommended_gain_margin", Unit: "dB", Optional: true, Limit: measure.AtLeast(6), Convention: sweep.Textbook, Meaning: "Gain margin there, at the worse of light and heavy load."},
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
