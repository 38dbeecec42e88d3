package gallery

import (
	"fmt"
	"slices"
	"strings"

	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/gallery"
)

// expectation is what a procedure must come to and say of a governor.
type expectation struct {
	outcomes []measure.Outcome // that will do; none is any but a void run
	say      []topic           // each has to be said
	or       []topic           // one of these has to be said; none is nothing
	allow    []topic           // of the blames, those that may be said
}

const (
	pass   = measure.Pass
	fail   = measure.Fail
	notRun = measure.NotRun
)

// well is what is expected where nothing is wrong.
var well = expectation{outcomes: []measure.Outcome{pass}}

// bad is a required test that is missed, with what has to be said.
func bad(say ...topic) expectation {
	return expectation{outcomes: []measure.Outcome{fail}, say: say, allow: say}
}

// wary is anything but a pass, with one of the topics said.
func wary(or ...topic) expectation {
	return expectation{outcomes: []measure.Outcome{fail, notRun}, or: or, allow: or}
}

// open is any outcome, with some blames allowed.
func open(allow ...topic) expectation {
	return expectation{outcomes: []measure.Outcome{pass, fail, notRun}, allow: allow}
}

// sorts of governors, by what they do in all procedures that run the engine.
var running = []string{"hold", "spoolup", "loadstep", "sweep", "tune", "faults"}

// all is the same expectation in several procedures.
func all(names []string, e expectation) map[string]expectation {
	out := map[string]expectation{}
	for _, name := range names {
		out[name] = e
	}
	return out
}

// with adds to expectations, or replaces them.
func with(base map[string]expectation, more map[string]expectation) map[string]expectation {
	for name, e := range more {
		base[name] = e
	}
	return base
}

// unsafely is a faults procedure that finds a governor not safe, and says so
// first.
var unsafely = map[string]expectation{"faults": bad(unsafe, noEngine)}

// droopy is a missed test that says so; the sentence also speaks of an integral
// that is slow.
var droopy = expectation{outcomes: []measure.Outcome{fail}, say: []topic{droops}, allow: []topic{droops, slow}}

// swinging is for a governor whose engine swings for ever.
var swinging = with(all(running, wary(hunts)), map[string]expectation{
	"accept": open(hunts), "throttle": open(hunts, notFully), "tune": {say: []topic{hunts}, allow: []topic{hunts}},
})

// expected is the table: by kind and procedure, what must come and be said. A
// procedure that is not named must find nothing wrong.
var expected = map[gallery.Kind]map[string]expectation{
	gallery.Healthy: {},
	gallery.SlowIntegral: {
		"hold": open(slow), "spoolup": open(slow), "loadstep": open(slow),
		"sweep": well, "tune": open(slow), "faults": open(slow, unsafe, noEngine), // it may overshoot far, switched off and on
	},
	gallery.Hunts:        swinging,
	gallery.TwoThrottles: swinging,
	gallery.DeadBand: {
		"throttle": open(coarse), "hold": {or: []topic{deadBand, hunts}, allow: []topic{deadBand, hunts}}, // coarse steps may make it hunt
		"spoolup": open(deadBand, hunts), "loadstep": open(deadBand, hunts, slow),
		"sweep": wary(deadBand), "tune": open(deadBand, hunts), "faults": open(deadBand),
	},
	gallery.OpensOnLoss:  unsafely,
	gallery.HoldsOnLoss:  unsafely,
	gallery.ClosesSlowly: unsafely,
	gallery.HoldsStick:   unsafely,
	// At half speed the clutch may let go and take up again.
	gallery.CountsDouble: with(all(running, expectation{outcomes: []measure.Outcome{fail, notRun}, say: []topic{counts}, allow: []topic{counts, hunts}}), map[string]expectation{
		"accept": bad(counts), "throttle": open(counts),
	}),
	gallery.CountsHalf: with(all(running, wary(counts)), map[string]expectation{
		"accept": bad(counts), "throttle": open(counts), "faults": {outcomes: []measure.Outcome{fail, notRun}, say: []topic{counts}, allow: []topic{counts, unsafe, noEngine}},
	}),
	gallery.OtherPolarity: with(all(running, wary(notEngaged, polarity)), map[string]expectation{
		"accept": bad(polarity), "throttle": wary(noArming, notEngaged, polarity),
	}),
	gallery.WideOnly: with(all(running, wary(notEngaged, width)), map[string]expectation{
		"accept": {outcomes: []measure.Outcome{fail}, say: []topic{width}, allow: []topic{width, sensor}}, "throttle": wary(noArming, notEngaged, width),
	}),
	gallery.NotGoverning: with(all(running, wary(notEngaged)), map[string]expectation{
		"accept": wary(notEngaged), "throttle": wary(notEngaged, noArming), "faults": {outcomes: []measure.Outcome{fail, notRun}, say: []topic{notEngaged}, allow: []topic{notEngaged, unsafe, noEngine}},
	}),
	gallery.Droops: {
		"hold": droopy, "loadstep": {say: []topic{droops}, allow: []topic{droops, slow}}, "spoolup": open(droops), "tune": open(droops), "faults": open(droops),
	},
	gallery.Jitters: {"throttle": {say: []topic{jitter}, allow: []topic{jitter}}},
	gallery.ThreeSpeeds: {
		"hold":    {outcomes: []measure.Outcome{fail}, say: []topic{coarse}, allow: []topic{coarse, headSpeed}},
		"spoolup": wary(coarse, headSpeed), "loadstep": wary(coarse, headSpeed), "sweep": open(coarse), "tune": open(coarse), "faults": open(coarse),
	},
	gallery.SelectDead: {
		"accept": {outcomes: []measure.Outcome{pass, notRun}, say: []topic{selectDead}, allow: []topic{selectDead}},
		"hold":   bad(selectDead), "spoolup": wary(selectDead), "loadstep": wary(selectDead),
		"sweep": open(selectDead), "tune": open(selectDead), "faults": open(selectDead),
	},
	gallery.ArmsHigh: with(all(running, expectation{outcomes: []measure.Outcome{pass, notRun}, or: []topic{notEngaged, armsHigh}, allow: []topic{notEngaged}}), map[string]expectation{
		"accept": {outcomes: []measure.Outcome{pass, notRun}, allow: []topic{notEngaged}}, "throttle": well,
	}),
	gallery.LocksHalf:        with(map[string]expectation{"accept": open(counts)}, unsafely),
	gallery.StaysOpen:        with(map[string]expectation{"accept": open(counts)}, unsafely),
	gallery.OpensOnStickLoss: unsafely,
	gallery.HoldsThenOpens:   unsafely,
	gallery.ShortTravel:      {"throttle": {say: []topic{notFully}, allow: []topic{notFully}}},
	gallery.SlowFrames:       {"throttle": open(slowFrames, slow), "tune": open(slowFrames)},
	gallery.WindsUp:          {"loadstep": bad(windUp), "spoolup": open(), "faults": open(unsafe, noEngine)}, // it may run up far too fast
	gallery.SlowSpool:        {"spoolup": bad(slow), "faults": open(slow)},
}

// wrongs are what is wrong with what a procedure said and measured of a governor
// on a machine; nothing is right.
func wrongs(m *machine.Machine, member gallery.Member, s *seen) (why []string) {
	e, ok := expected[member.Kind][s.Procedure]
	if !ok {
		e = well
	}
	switch {
	case s.Outcome == measure.Error:
		why = append(why, "void on an ideal rig")
	case len(e.outcomes) > 0 && !slices.Contains(e.outcomes, s.Outcome):
		why = append(why, fmt.Sprintf("comes to %s, not %s", s.Outcome, join(e.outcomes, " or ")))
	}
	for _, t := range e.say {
		if !s.says(t) {
			why = append(why, "does not say: "+string(t))
		}
	}
	if len(e.or) > 0 && !slices.ContainsFunc(e.or, s.says) {
		why = append(why, "says none of: "+join(e.or, ", "))
	}
	for _, t := range blames {
		if !slices.Contains(e.allow, t) && s.says(t) {
			why = append(why, "says wrongly: "+string(t))
		}
	}
	return append(why, off(m, member, s)...)
}

func join[T ~string](list []T, between string) string {
	var words []string
	for _, x := range list {
		words = append(words, strings.ReplaceAll(string(x), "_", " "))
	}
	return strings.Join(words, between)
}
