package faults

import (
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
)

// course is what throttle, share, and speed, share of the set one, do some seconds
// after a fault.
type course func(t float64) (throttle, speed float64)

// after makes a trace of a course, from half a second before the fault, on the medium machine
// whose governor holds the wanted speed.
func traced(t *testing.T, seconds float64, c course) (*faulting, *aftermath) {
	m := medium(t)
	f := &faulting{g: governed.New(m, m.Speeds[0]), own: 4}
	f.set = f.g.Declared()
	closed, open := float64(m.Servo.ClosedPulse), float64(m.Servo.OpenPulse)
	var part execution.Trace
	for i := range int((seconds + 0.5) * 500) {
		at := float64(i)/500 - 0.5
		throttle, speed := c(at)
		part.Time = append(part.Time, at)
		part.Throttle = append(part.Throttle, 1e6*(closed+throttle*(open-closed)))
		part.Speed = append(part.Speed, speed*f.set)
		part.Head = append(part.Head, speed*f.set/m.Ratio())
	}
	return f, &aftermath{part: part, turns: -1}
}

// until goes from one to another at a moment.
func until(at float64, before, after course) course {
	return func(t float64) (float64, float64) {
		if t < at {
			return before(t)
		}
		return after(t)
	}
}

// still is a throttle and a speed that stay where they are.
func still(throttle, speed float64) course {
	return func(float64) (float64, float64) { return throttle, speed }
}

var (
	rides   = fault{what: "a fault", within: 5, highest: bound{most: 112}}
	returns = fault{what: "a fault", within: 5, returns: true, highest: bound{most: 150, doubted: 120}}
	shuts   = fault{what: "a fault", within: 1, shuts: true, highest: bound{most: 120}}
)

// What may be said of a fault, each where it is true and where it nearly is.
func TestWhatAFaultCameTo(t *testing.T) {
	runs, idles := still(0.6, 1), still(0, 0.3)
	yes, no, silent := finding.Engagement{Verdict: finding.Yes}, finding.Engagement{Verdict: finding.No}, finding.Engagement{Why: "too much scatter"}
	for name, c := range map[string]struct {
		x       fault
		seconds float64
		course  course
		answer  finding.Engagement
		says    string
	}{
		"not noticed":           {rides, 4, runs, yes, "Safe: a fault: the speed stays where it is; at most 100 % of the wanted speed."},
		"held, not answering":   {rides, 9, runs, no, "NOT SAFE: a fault: the speed stays where it is, but the throttle no longer answers"},
		"watched too shortly":   {rides, 4, runs, no, "Cannot tell: a fault: the set speed is back, but nothing shows"},
		"held, not told":        {rides, 4, runs, silent, "Cannot tell: a fault: the set speed is back, but nothing shows that it is the governor's doing (too much scatter)"},
		"back in time":          {rides, 9, until(4.9, still(0.7, 0.9), runs), yes, "Safe: a fault: the speed is back after 4.9 s"},
		"back too late":         {rides, 9, until(5.1, still(0.7, 0.9), runs), yes, "NOT SAFE: a fault: the speed is back after 5.1 s"},
		"its own way back":      {returns, 12, until(8.9, still(0.7, 0.9), runs), yes, "Safe: a fault: the speed is back after 8.9 s"},
		"longer than its own":   {returns, 12, until(9.1, still(0.7, 0.9), runs), yes, "NOT SAFE: a fault: the speed is back after 9.1 s"},
		"near, and no nearer":   {rides, 7, still(0.6, 0.97), yes, "NOT SAFE: a fault: the set speed does not come back"},
		"on its way":            {rides, 7, func(t float64) (float64, float64) { return 0.6, 0.6 + 0.05*t }, yes, "Cannot tell: a fault: the speed was still on its way back to the set one"},
		"hardly on its way":     {rides, 7, func(t float64) (float64, float64) { return 0.6, 0.6 + 0.0019*t }, yes, "NOT SAFE: a fault: the set speed does not come back"},
		"on its way beyond":     {rides, 7, func(t float64) (float64, float64) { return 0.6, 1.03 + 0.005*t }, yes, "NOT SAFE: a fault: the set speed does not come back"},
		"half the speed":        {rides, 7, still(0.3, 0.5), yes, "NOT SAFE: a fault: the set speed does not come back"},
		"shut, ridden":          {rides, 7, until(1, runs, idles), yes, "Safe: a fault: the throttle is closed after 1.00 s, and stays so; the engine would be at idle"},
		"shut in the end":       {rides, 7, until(5.1, still(0.7, 0.9), idles), yes, "NOT SAFE: a fault: the set speed does not come back"},
		"shut, yet fast":        {rides, 7, until(0.1, runs, still(0, 1.1)), yes, "Cannot tell: a fault: the throttle was closed at the end, but above the set speed any governor closes it"},
		"hunts through closed":  {rides, 7, hunting(1.7), yes, "NOT SAFE: a fault: the set speed does not come back"},
		"wide open":             {rides, 7, still(1, 1.11), yes, "NOT SAFE: a fault: the engine runs away: the throttle is 100 % open and the engine at 111 % of the wanted speed"},
		"too fast for a moment": {rides, 7, until(1, still(0.1, 1.13), runs), yes, "at most 113 % of the wanted speed, more than the 112 % that it may reach"},
		"fast for a moment":     {rides, 7, until(1, still(0.1, 1.11), runs), yes, "Safe: a fault: the speed is back after 1.0 s; at most 111 % of the wanted speed."},
		"who knows":             {returns, 7, until(0, still(0.8, 1.21), runs), yes, "Cannot tell: a fault: the speed stays where it is; at most 121 % of the wanted speed, which the blades may not bear"},
		"borne by all":          {returns, 7, until(0, still(0.8, 1.19), runs), yes, "Safe: a fault: the speed stays where it is; at most 119 % of the wanted speed."},
		"borne by none":         {returns, 7, until(0, still(0.8, 1.51), runs), yes, "NOT SAFE: a fault: the speed stays where it is; at most 151 % of the wanted speed, more than the 150 %"},
		"closed":                {shuts, 3, until(0.9, runs, idles), silent, "Safe: a fault: the throttle is closed after 0.90 s, and stays so; at most 100 %"},
		"closed too late":       {shuts, 3, until(1.1, runs, idles), silent, "NOT SAFE: a fault: the throttle is not closed for good within 3.0 s"},
		"nearly closed":         {shuts, 3, until(0.1, runs, still(0.021, 0.3)), silent, "NOT SAFE: a fault: the throttle stays open, at 2 % of its travel"},
		"at the idle opening":   {shuts, 3, until(0.1, runs, still(0.019, 0.3)), silent, "Safe: a fault: the throttle is closed after 0.10 s"},
		"held where it was":     {shuts, 3, runs, yes, "NOT SAFE: a fault: the throttle stays open, at 60 % of its travel"},
		"open by turns":         {shuts, 3, hunting(1.7), silent, "NOT SAFE: a fault: the throttle is not closed for good within 3.0 s"},
		"slowing down":          {shuts, 3, still(0.3, 1.09), silent, "NOT SAFE: a fault: the throttle stays open, at 30 % of its travel"},
	} {
		f, s := traced(t, c.seconds, c.course)
		s.answer = c.answer
		came := f.came(&c.x, s)
		require.Contains(t, c.x.sentence(&came)+"\n", c.says, name)
	}
}

// hunting opens and closes the throttle by turns, closed at the end of seven and of
// three seconds.
func hunting(period float64) course {
	return func(t float64) (float64, float64) {
		if n := int(t/period + 10); n%2 == 1 {
			return 0, 0.5
		}
		return 0.8, 0.6
	}
}

// A governor that idles with its throttle a little open is judged from there.
func TestClosedIsTheIdleOpening(t *testing.T) {
	f, s := traced(t, 3, until(0.1, still(0.6, 1), still(0.08, 0.3)))
	f.idle = 0.07
	require.Equal(t, shut, f.came(&shuts, s).end)
	f.idle = 0.05
	require.Equal(t, neither, f.came(&shuts, s).end)
}

// A governor that wanders by itself may stray as far after a fault, up to an end.
func TestItsOwnBand(t *testing.T) {
	f, s := traced(t, 7, still(0.6, 0.965))
	s.answer.Verdict = finding.Yes
	require.Equal(t, neither, f.came(&rides, s).end)
	f.wander = 0.018 * f.set
	require.Equal(t, held, f.came(&rides, s).end)
	f, s = traced(t, 7, still(0.6, 0.94))
	s.answer.Verdict, f.wander = finding.Yes, 0.1*f.set
	require.Equal(t, neither, f.came(&rides, s).end)
}
