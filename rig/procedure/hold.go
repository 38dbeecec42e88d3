package procedure

import (
	"context"
	"fmt"
	"math"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
	"govrig/rig/measure/step"
	"govrig/sim/heli"
	"govrig/sim/machine"
)

// HoldOptions are those of Hold.
type HoldOptions struct {
	// Speed is the name of the speed setting; empty is the first, AllSpeeds
	// every one.
	Speed string
	Time  float64 // how long to hold each setting, s
}

// Hold runs the engine up and, at each speed setting, finds the select width
// that gives it, holds it under the low collective of the machine's load step,
// and then under the high one.
func Hold(ctx context.Context, b *Bench, o HoldOptions) (*Run, error) {
	settings, err := chooseSeveral(b.Machine, o.Speed)
	if err != nil {
		return nil, err
	}
	several := len(settings) > 1
	var declared []measure.Declaration
	for _, s := range settings {
		declared = append(declared, suffixed(holdMeasures(b.Machine, s), s, several)...)
	}
	return b.run(ctx, plan{name: "hold", options: o, setting: only(settings), declared: declared, body: func(t *test) error {
		g := newGoverned(b.Machine, settings[0])
		part, held, err := g.takeUp(t)
		if err != nil {
			return err
		}
		g.to(settings[0], several)
		if !held {
			g.holdsWrong(t, &part, declared)
			return nil
		}
		for i, s := range settings {
			g.to(s, several)
			held, err := g.hold(t, o.Time)
			if err != nil {
				return err
			}
			if !held {
				g.letGo(t, declared[i*len(declared)/len(settings):])
				return nil
			}
		}
		t.next("Give the select channel the travel found for each setting, and confirm it on the bench with the real transmitter.")
		return nil
	}})
}

// tryTime is how long a select width is tried once the engine is steady, s.
const tryTime = 2.0

// Times of the heavy load, s: first it settles, then it is read.
const (
	heavySettle = 4.0
	heavyRead   = 2.0
)

// phaseHeavy is the phase of heavy load.
const phaseHeavy = "steady, heavy"

// hold measures one setting. held is false when the governor does not hold it.
func (g *governed) hold(t *test, time float64) (held bool, err error) {
	s := g.seek()
	if held, err = g.search(t, &s); !held || err != nil {
		return held, err
	}
	load := g.m.LoadStep
	part, held, err := t.play(
		g.phase(g.name(phaseSteady), time),
		g.load(g.name(phaseHeavy), float64(load.CollectiveHigh), float64(load.Ramp), heavySettle+heavyRead),
		g.load(g.name("light again"), float64(load.CollectiveLow), float64(load.Ramp), 1),
	)
	if err != nil || !held {
		return held, err
	}
	part.calibrate(t.session)
	g.readSteady(t, &part)
	g.readHold(t, &part, &s)
	return true, nil
}

// search tries select widths and leaves the best one standing, steady.
func (g *governed) search(t *test, s *seeking) (held bool, err error) {
	for {
		width, more := s.next()
		if !more {
			return g.settleAt(t, s)
		}
		g.last.Select = seconds(width)
		name := g.name(fmt.Sprintf("try %d", len(s.tries)+1))
		part, held, err := t.play(g.settled("settle, "+name, spoolLimit, settleHold), g.phase(name, tryTime))
		if err != nil || !held {
			return held, err
		}
		part.calibrate(t.session)
		from, to := part.phase(name)
		s.tries = append(s.tries, attempt{width, step.MeanSpeed(part.speed(from, to)).Value})
	}
}

// settleAt goes back to the best width, if that was not the last.
func (g *governed) settleAt(t *test, s *seeking) (held bool, err error) {
	if best := s.best(); best != s.tries[len(s.tries)-1] {
		g.last.Select = seconds(best.width)
		_, held, err = t.play(g.settled(g.name("settle"), spoolLimit, settleHold))
		return held, err
	}
	return true, nil
}

func (g *governed) readHold(t *test, part *Trace, s *seeking) {
	from, to := part.phase(g.name(phaseSteady))
	light := part.speed(from, to)
	mean := step.MeanSpeed(light)
	_, end := part.phase(g.name(phaseHeavy))
	heavy := part.speed(0, end).Between(part.Time[end-1]-heavyRead, math.Inf(1))
	droop := g.droop(mean, step.MeanSpeed(heavy))
	off := mean
	off.Value = 100 * (mean.Value/g.declared() - 1)
	g.take(t, "speed_setting_error", off)
	g.take(t, "speed_droop", droop)
	g.take(t, "select_width", measure.Read(s.best().width*1e6))
	g.take(t, "select_travel", measure.Read(s.travel(s.best().width)))
	g.tellHold(t, s, step.MeanSpeed(part.head(from, to)), droop)
	g.readHunting(t, hunting.Detect(light, hunting.Config{}))
}

// droop is from the light to the heavy end of the load step.
func (g *governed) droop(light, heavy measure.Reading) measure.Reading {
	plant := heli.New(g.m.HeliParams(), stepTicks/16e6)
	if _, _, err := plant.Trim(float64(g.setting.HeadSpeed), float64(g.m.LoadStep.CollectiveHigh)); err != nil {
		return measure.Missing("%v", err)
	}
	return step.Droop(light, heavy, g.declared())
}

func (g *governed) readHunting(t *test, f hunting.Finding) {
	swing, quiet := measure.Read(0).With("%s", f.Why), measure.Missing("it does not hunt")
	frequency, amplitude := quiet, quiet
	switch {
	case f.Kind == hunting.Unknown:
		swing = measure.Missing("%s", f.Why)
	case f.Hunting():
		swing.Value = 200 * f.Amplitude / g.declared()
		frequency, amplitude = measure.Read(f.Frequency), measure.Read(f.Amplitude)
		t.found("%s: it hunts at %.1f Hz by ±%.0f rpm of the engine.", g.setting.Name, f.Frequency, f.Amplitude)
		t.next("Run sweep: its margins tell whether less gain helps.")
	}
	g.take(t, "hunting_swing", swing)
	g.take(t, "hunting_frequency", frequency)
	g.take(t, "hunting_amplitude", amplitude)
}

// holdsWrong reads what can be read where another speed than the wanted one is
// held.
func (g *governed) holdsWrong(t *test, part *Trace, declared []measure.Declaration) {
	g.explain(t, part)
	taken := 0
	if u := g.unheld(part); u.steady(float64(g.m.Engine.IdleSpeed) * rpm) {
		n := len(part.Time)
		head := part.head(0, n).Between(part.Time[n-1]-unheldTime, math.Inf(1))
		g.take(t, "governed_speed", measure.Read(u.speed))
		g.take(t, "head_speed", step.MeanSpeed(head))
		g.take(t, "steady_state_speed_band", measure.Read(100*(u.top-u.low)/g.declared()))
		g.take(t, "speed_setting_error", measure.Read(100*(u.speed/g.declared()-1)))
		taken = 4 // the first four of those declared
	}
	notRun(t, declared[taken:], whyUnsteady+" at the wanted speed")
}

// tellHold says what was found at a setting.
func (g *governed) tellHold(t *test, s *seeking, head, droop measure.Reading) {
	best := s.best()
	wanted := float64(g.setting.HeadSpeed) * rpm
	t.found("%s: %.0f rpm wanted at the head, %.1f held with a select pulse of %.1f µs (%+.0f %% travel, where %.0f to %.0f µs are -100 to 100 %%).",
		g.setting.Name, wanted, head.Value, best.width*1e6, s.travel(best.width), s.low*1e6, s.high*1e6)
	if !s.reached() {
		g.tellUnreached(t, s)
	}
	if droop.OK() && droop.Value > droopLimit(g.setting) {
		g.tellDroop(t, droop.Value)
	}
}

// tellUnreached says why no select width gives the wanted speed.
func (g *governed) tellUnreached(t *test, s *seeking) {
	best := s.best()
	held := best.speed / g.m.Ratio()
	other, both := s.across()
	switch {
	case both:
		t.found("%s: no select pulse gives it: the speed setting moves in coarse steps, and the nearest are %.0f and %.0f rpm at the head.",
			g.setting.Name, held, other.speed/g.m.Ratio())
	case best.width <= s.low+selectStep || best.width >= s.high-selectStep:
		t.found("%s: even at the end of the select travel the head turns at %.0f rpm.", g.setting.Name, held)
	default:
		t.found("%s: the nearest that %d select pulses came to it is %.0f rpm at the head.", g.setting.Name, len(s.tries), held)
	}
	t.next("%s: choose a head speed that the governor can be set to, such as %.0f rpm, or other gears.", g.setting.Name, held)
}

// tellDroop says what it means that the speed sags by so many %.
func (g *governed) tellDroop(t *test, sag float64) {
	t.found("%s: under the heavy load the speed stays %.1f %% lower: the governor does not bring it back (no integral part, or a very slow one).",
		g.setting.Name, sag)
	t.next("Look in the governor's manual for its integral, or for a mode with less droop.")
}

func holdMeasures(m *machine.Machine, setting machine.SpeedSetting) []measure.Declaration {
	off := 100 * settingTolerance(&m.Governor, float64(setting.HeadSpeed)*m.Ratio())
	droop := droopLimit(setting)
	return append(steadyMeasures(setting),
		measure.Declaration{
			Name: "speed_setting_error", Unit: "%", Limit: measure.Between(-off, off),
			Meaning:    "How far off the wanted speed the engine stays with the best select pulse that was found.",
			Convention: "limit: half the step of the speed setting in the machine file, and 0.05 %",
		},
		measure.Declaration{
			Name: "speed_droop", Unit: "%", Limit: measure.Between(-droop, droop),
			Meaning: "How much lower the speed stays while the load is heavy.",
			Convention: "ISO 8528-5 δ: steady speed under light less under heavy load, in % of the declared speed; " +
				"limit: the machine file's max_speed_error, or else 2 % (class G3 has 3 %, from memory)",
		},
		measure.Declaration{
			Name: "select_width", Unit: "µs",
			Meaning: "Select pulse that gives the wanted speed.",
		},
		measure.Declaration{
			Name: "select_travel", Unit: "%",
			Meaning:    "The same as travel on a transmitter.",
			Convention: "common practice, no source: the governor's two select ends are -100 % and 100 %",
		},
		measure.Declaration{
			Name: "hunting_swing", Unit: "%", Limit: measure.AtMost(mostHunting),
			Meaning: "How far the speed swings to and fro by hunting; 0 when it does not hunt.",
			Convention: "twice the amplitude of a sustained oscillation, in % of the declared speed; " +
				"limit: the whole band of ISO 8528-5 class G3 (from memory)",
		},
		measure.Declaration{
			Name: "hunting_frequency", Unit: "Hz", Optional: true,
			Meaning: "How often it swings to and fro.",
		},
		measure.Declaration{
			Name: "hunting_amplitude", Unit: "rpm", Optional: true,
			Meaning: "How far the engine swings to either side.",
		},
	)
}

// mostHunting is how far the speed may swing by hunting, full width, in %.
const mostHunting = 0.5

// droopLimit is how far the speed may stay down under load, in %.
func droopLimit(setting machine.SpeedSetting) float64 {
	if e := setting.Limits.SpeedError; e != nil {
		return 100 * float64(*e)
	}
	return 2
}
