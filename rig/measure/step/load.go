package step

import (
	"math"

	"govrig/rig/measure"
)

// LoadConfig says how a load step is to be measured.
type LoadConfig struct {
	Windows
	// Declared is the declared speed n_r, in the unit of the log. Every
	// percentage divides by it.
	Declared float64
	// Tolerance is the tolerance band α about the new steady speed that ends
	// the recovery, full width, % of the declared speed. Required.
	Tolerance float64
	// Steady is the steady-state band about the speed before, which the speed
	// must leave for the clock to start, full width, % of the declared speed.
	// Zero takes the tolerance band.
	Steady float64
}

// Load holds the answer of a governor to a sudden change of load, under every
// published convention. Speeds are in the unit of the log, deviations in % of
// the declared speed with their sign (a dip is negative), times in seconds.
// What rests on a level that had not settled is missing, with how fast the
// speed still drifts: a deviation would hold what an earlier event left, and a
// recovery would be that into a band about the wrong level.
type Load struct {
	Initial, Final measure.Reading // steady speeds before and after
	Extreme        measure.Reading // the speed at the bottom of the dip or the top of the rise
	ExtremeTime    measure.Reading // when it came, after the load change

	// FromDeclared is the transient deviation of ISO 8528-5,
	// 100·(n_d − n_r)/n_r.
	FromDeclared measure.Reading
	// FromInitial counts from the speed before, 100·(n_d − n_before)/n_r.
	FromInitial measure.Reading
	// FromFinal counts from the new steady speed, 100·(n_d − n_new)/n_r.
	FromFinal measure.Reading

	// Overswing is how far the speed swings past the new steady speed to the
	// other side of the dip or rise, in % of the declared speed, as TM
	// 5-6115-275-14 counts overshoot and undershoot; zero when it does not.
	Overswing measure.Reading

	// Exit is when the speed left the steady-state band, after the load change.
	Exit measure.Reading
	// RecoveryFromExit is the recovery time of ISO 8528-5: from leaving the
	// steady-state band to the lasting return into the tolerance band.
	RecoveryFromExit measure.Reading
	// RecoveryFromEvent runs from the load change instead.
	RecoveryFromEvent measure.Reading
	// Settling2 and Settling5 run from the load change until the speed stays
	// within ±2 % or ±5 % of the greatest deviation, about the new speed.
	Settling2, Settling5 measure.Reading
}

// AnalyseLoad measures one load step. The series should hold one event only.
func AnalyseLoad(s measure.Series, c LoadConfig) Load {
	if !(c.Declared > 0) || !(c.Tolerance > 0) || c.Steady < 0 {
		return noLoad("needs a declared speed and a tolerance band greater than zero")
	}
	a, err := cut(s, c.Windows)
	if err != nil {
		return noLoad(err.Error())
	}
	if a.final.unclear != "" && !a.turned() {
		return noLoad(a.final.unclear)
	}
	half := c.Declared * c.Tolerance / 200
	extreme := a.after.Y[a.peak]
	percent := func(from float64) measure.Reading {
		return measure.Read(100 * (extreme - from) / c.Declared)
	}
	l := Load{
		Initial:     a.level(a.initial, half),
		Final:       a.level(a.final, half),
		Extreme:     measure.Read(extreme),
		ExtremeTime: measure.Read(a.after.T[a.peak] - a.event),

		FromDeclared: percent(c.Declared).With("from the declared speed %.6g", c.Declared),
		FromInitial:  percent(a.initial.value).With("from the speed before %.6g", a.initial.value),
		FromFinal:    percent(a.final.value).With("from the new steady speed %.6g", a.final.value),
	}
	if why, _ := a.final.settled(half); why != "" {
		l.Final = measure.Missing("%s", why)
		l.FromFinal = l.Final
	}
	if why, _ := a.initial.settled(half); why != "" {
		m := measure.Missing("before the event %s", why)
		l.Initial, l.FromDeclared, l.FromInitial = m, m, m
	}
	l.Overswing = a.overswing(c.Declared)
	if !l.Final.OK() {
		l.Overswing = l.Final
	}
	l.recover(a, c, half)
	l.settle(a)
	return l
}

// overswing looks past the extreme for the swing to the other side.
func (a *answer) overswing(declared float64) measure.Reading {
	far := 0.0
	for _, y := range a.after.Y[a.peak:] {
		far = math.Max(far, -a.sign*(y-a.final.value))
	}
	if far <= 1.5*a.final.half {
		far = 0 // no more than the speed wanders in the steady window
	}
	return measure.Read(100*far/declared).With("from the new steady speed %.6g", a.final.value)
}

// recover fills in the clocks of the recovery.
func (l *Load) recover(a *answer, c LoadConfig, half float64) {
	exitHalf := half
	if c.Steady > 0 {
		exitHalf = c.Declared * c.Steady / 200
	}
	if !l.Initial.OK() {
		l.Exit = l.Initial
	} else if a.initial.half > exitHalf {
		l.Exit = measure.Missing("the speed was outside the steady-state band (±%.4g) before the event", exitHalf)
	} else if t, ok := a.leaves(a.initial.value, exitHalf); ok {
		l.Exit = measure.Read(t).With("leaving ±%.4g about %.6g", exitHalf, a.initial.value)
	} else {
		l.Exit = measure.Missing("the speed never left the steady-state band (±%.4g)", exitHalf)
	}
	l.RecoveryFromEvent = a.stays(half)
	if early := a.endsEarly(half); !l.RecoveryFromEvent.OK() && l.Initial.OK() && early.OK() {
		l.RecoveryFromEvent = early
	}
	l.RecoveryFromExit = l.RecoveryFromEvent
	switch {
	case !l.RecoveryFromEvent.OK():
	case l.Exit.OK():
		l.RecoveryFromExit = measure.Read(math.Max(0, l.RecoveryFromEvent.Value-l.Exit.Value)).
			With("clock from %s; %s", l.Exit.Detail, l.RecoveryFromEvent.Detail)
	case !l.Initial.OK() || a.initial.half > exitHalf:
		l.RecoveryFromExit = l.Exit
	default:
		l.RecoveryFromExit = l.RecoveryFromEvent.
			Warn("the speed never left the steady-state band: the clock of the exit never started")
	}
}

// settle fills in the times to stay near the new speed.
func (l *Load) settle(a *answer) {
	depth := math.Abs(a.after.Y[a.peak] - a.final.value)
	l.Settling2, l.Settling5 = a.stays(0.02*depth), a.stays(0.05*depth)
}

// level gives a level with a warning when it was not steady.
func (a *answer) level(l level, half float64) measure.Reading {
	r := measure.Read(l.value).With("window %.2f s from %.2f s", l.to-l.from, l.from)
	if why, warning := l.settled(half); why+warning != "" {
		r = r.Warn("%s", why+warning)
	}
	return r
}

func noLoad(why string) Load {
	m := measure.Missing("%s", why)
	return Load{m, m, m, m, m, m, m, m, m, m, m, m, m}
}
