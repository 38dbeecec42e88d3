package finding

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/measure"
	"govrig/rig/measure/hunting"
)

// sampled is f at 500 samples a second.
func sampled(length float64, f func(t float64) float64) (s measure.Series) {
	for i := range int(500 * length) {
		at := float64(i) / 500
		s.T, s.Y = append(s.T, at), append(s.Y, f(at))
	}
	return s
}

func constant(length, value float64) measure.Series {
	return sampled(length, func(float64) float64 { return value })
}

// A governor is one whose throttle answers against the speed, however weak or
// coarse the answer; not one that is merely steady, follows the stick, or answers
// the wrong way; and at its end nothing can be told.
func TestEngaged(t *testing.T) {
	played := sampled(5, func(t float64) float64 { return 13_000 + 60*math.Sin(2*math.Pi*t) })
	law := func(gain, lag float64, shape func(float64) float64) measure.Series {
		return sampled(5, func(t float64) float64 { return shape(0.4 - gain*60/13_000*math.Sin(2*math.Pi*t-lag)) })
	}
	plain := func(y float64) float64 { return y }
	coarse := func(y float64) float64 { return 0.02 * math.Round(y/0.02) }
	noise := rand.New(rand.NewPCG(1, 2))
	for name, c := range map[string]struct {
		throttle measure.Series
		want     Verdict
	}{
		"answers":            {law(4, 0.4, plain), Yes},
		"answers weakly":     {law(0.5, 0.4, plain), Yes},
		"answers in steps":   {law(6, 0.4, coarse), Yes},
		"mostly integral":    {law(3, 1.4, plain), Yes},
		"the wrong way":      {law(-4, 0.4, plain), No},
		"steady":             {constant(5, 0.4), No},
		"only at its end":    {constant(5, 1), CannotTell},
		"only at the closed": {constant(5, 0.01), CannotTell},
		"moves by itself":    {sampled(5, func(float64) float64 { return 0.5 + 0.2*noise.NormFloat64() }), CannotTell},
	} {
		e := Engaged(played, c.throttle, 1)
		require.Equal(t, c.want, e.Verdict, "%s: %+v", name, e)
		require.Equal(t, c.want == Yes, e.Why == "", name)
	}
}

func TestFollows(t *testing.T) {
	require.True(t, Follows([]float64{0.59, 0.6, 0.63}, 0.6))
	require.False(t, Follows([]float64{0.59, 0.6, 0.66}, 0.6), "it moves by itself")
	require.False(t, Follows([]float64{0.5, 0.5}, 0.6))
	require.False(t, Follows(nil, 0.6))
}

// What is still to come of an exponential of up to ten seconds is what counts, not
// how the speed got there, nor a swing that the halves hold whole.
func TestSettled(t *testing.T) {
	for name, c := range map[string]struct {
		speed measure.Series
		want  bool
	}{
		"still":                {constant(5, 13_000), true},
		"slow, 1.5 % to come":  {sampled(5, func(t float64) float64 { return 13_000 - 195*math.Exp(-t/10) }), false},
		"slow, 0.1 % to come":  {sampled(5, func(t float64) float64 { return 13_000 - 13*math.Exp(-t/10) }), true},
		"quick, all over":      {sampled(5, func(t float64) float64 { return 13_000 - 20*math.Exp(-t/0.1) }), true},
		"a ramp of 0.1 % a s":  {sampled(5, func(t float64) float64 { return 13_000 + 13*t }), false},
		"a swing of 2 Hz":      {sampled(5, func(t float64) float64 { return 13_000 + 200*math.Sin(4*math.Pi*t) }), true},
		"too short to tell":    {measure.Series{T: []float64{0, 1}, Y: []float64{1, 1}}, false},
		"a swing of a half Hz": {sampled(5, func(t float64) float64 { return 13_000 + 200*math.Sin(0.4*math.Pi*t) }), false},
	} {
		require.Equal(t, c.want, Settled(c.speed, 0.002*13_000), name)
	}
	require.InDelta(t, 25, Drift(sampled(4, func(t float64) float64 { return 12.5 * t })), 0.1)
	require.True(t, math.IsNaN(Drift(measure.Series{})))
}

func seen(speed, throttle float64, change func(*Seen)) Seen {
	s := Seen{Speed: constant(8, speed), Throttle: []float64{throttle, throttle}, Stick: 0.6, Wanted: 13_000, Idle: 3_200, Given: 1, CanHold: true}
	if change != nil {
		change(&s)
	}
	return s
}

// Each reason where it is the one, and next to it what only looks like it.
func TestWhyUnheld(t *testing.T) {
	governs := func(s *Seen) { s.Engagement = Engagement{Verdict: Yes} }
	dead := func(s *Seen) { s.Engagement = Engagement{Verdict: No, Why: "the throttle does not answer"} }
	swings := func(around float64) func(*Seen) {
		return func(s *Seen) {
			s.Speed = sampled(8, func(t float64) float64 { return around + 900*math.Sin(8*math.Pi*t) })
			s.Hunting = hunting.Finding{Kind: hunting.Sustained, Frequency: 4}
			s.Throttle = []float64{0.1, 0.9}
		}
	}
	for name, c := range map[string]struct {
		seen Seen
		want UnheldKind
	}{
		"idles":                              {seen(3_300, 0.02, nil), Asleep},
		"idles, throttle open":               {seen(3_300, 0.9, nil), Unsteady},
		"follows the stick":                  {seen(15_000, 0.6, dead), FollowsStick},
		"happens to stand there but governs": {seen(15_000, 0.6, governs), OtherSpeed},
		"does not answer":                    {seen(15_000, 0.3, dead), Ungoverned},
		"wide open, too fast":                {seen(17_000, 1, nil), WideOpen},
		"wide open, too slow, engine weak":   {seen(12_000, 1, func(s *Seen) { s.CanHold = false }), TooWeak},
		"wide open, too slow, engine able":   {seen(12_000, 1, nil), Unsteady},
		"half speed":                         {seen(6_500, 0.3, governs), Miscounts},
		"half speed, not shown to govern":    {seen(6_500, 0.3, nil), Unsteady},
		"swings about half speed":            {seen(0, 0, swings(6_500)), Miscounts},
		"sags to near half of it":            {seen(6_240, 0.3, governs), OtherSpeed},
		"two thirds of it":                   {seen(8_667, 0.3, governs), OtherSpeed},
		"swings":                             {seen(0, 0, swings(12_700)), Hunts},
		"right speed, nothing shown":         {seen(13_010, 0.3, nil), Unproven},
		"another speed":                      {seen(14_000, 0.3, governs), OtherSpeed},
		"another speed, nothing shown":       {seen(14_000, 0.3, nil), Unsteady},
	} {
		u := WhyUnheld(c.seen)
		require.Equal(t, c.want, u.Kind, "%s: %s", name, u.Found())
		require.NotEmpty(t, u.Found(), name)
		require.NotEmpty(t, u.Next(), name)
	}
}

// The number of pulses counted follows from the speed, and blames no whole number
// that there is none of.
func TestCounts(t *testing.T) {
	for _, c := range []struct {
		given  int
		ratio  float64
		counts int
		kind   UnheldKind
	}{
		{1, 1. / 2, 2, Miscounts}, {2, 1. / 2, 4, Miscounts}, {1, 1. / 3, 3, Miscounts}, {1, 2, 0, Expects}, {2, 2, 0, Expects},
		{1, 3. / 2, 0, OtherSpeed},
	} {
		u := WhyUnheld(seen(13_000*c.ratio, 0.3, func(s *Seen) { s.Given, s.Engagement = c.given, Engagement{Verdict: Yes} }))
		require.Equal(t, c.kind, u.Kind, "%+v", c)
		require.Equal(t, c.counts, u.Counts)
		require.Equal(t, c.kind == Miscounts, strings.Contains(u.Found(), "counts"))
		require.Equal(t, c.kind == Expects, strings.Contains(u.Found(), "takes"))
	}
}

// Wind-up is a throttle that stays open beyond the wanted speed, not a speed that
// overshoots while the throttle is closing, nor one that never gets there.
func TestWindUp(t *testing.T) {
	rising := sampled(3, func(t float64) float64 { return 12_000 + 2_000*t }) // passes 13 000 at 0.5 s
	open := func(until float64) measure.Series {
		return sampled(3, func(t float64) float64 {
			if t < until {
				return 1
			}
			return 0.5
		})
	}
	held, is := WindUp(rising, open(1.3), []float64{0.4, 0.5}, 13_000)
	require.True(t, is)
	require.InDelta(t, 0.8, held, 0.01)
	_, is = WindUp(rising, open(0.6), []float64{0.4, 0.5}, 13_000)
	require.False(t, is, "one that sees it and closes")
	_, is = WindUp(rising, open(0.3), []float64{0.4, 0.5}, 13_000)
	require.False(t, is, "the overshoot is the engine's")
	_, is = WindUp(constant(3, 12_500), open(3), []float64{0.4, 0.5}, 13_000)
	require.False(t, is)
	_, is = WindUp(rising, open(9), []float64{0.4, 0.5}, 13_000)
	require.True(t, is, "to the end")
	_, is = WindUp(rising, open(9), []float64{1, 1}, 13_000)
	require.False(t, is, "it was open before")
}
