package faults

import (
	"fmt"
	"math"
	"sort"

	"govrig/rig/finding"
	"govrig/rig/measure"
)

// end is how a fault left the governor.
type end int

const (
	neither  end = iota // of the next two
	held                // the set speed held, by a throttle that answers
	shut                // the throttle closed, and so it stays
	untold              // cannot tell
	hasSpeed            // the set speed is there, by a throttle that does not answer
)

// consequence is what a fault came to.
type consequence struct {
	end      end
	why      string  // it cannot be told
	unsafe   float64 // for how long it was not safe, s, less what does not count
	after    float64 // when it became safe, s
	highest  float64 // % of the wanted speed
	throttle float64 // at the end, share of the travel
	closed   bool    // it is, at that moment
	last     float64 // engine speed at the end, % of the wanted
	away     bool    // the engine runs away
}

// read takes the measures of a fault, and says what it came to.
func (f *faulting) read(x *fault, s *aftermath) {
	c := f.came(x, s)
	sheet := f.t.Sheet
	time := measure.Read(c.unsafe)
	switch {
	case c.end == untold:
		time = measure.Missing("it cannot be told: %s", c.why)
	case c.end != held && c.end != shut:
		time = time.Warn("it was not safe until the end: %.1f s is all that was watched", c.unsafe)
	}
	sheet.Take(finding.TimeToSafe+"_"+x.name, time)
	highest := measure.Read(c.highest)
	if x.highest.doubts(c.highest) {
		highest = measure.Missing("%.0f %% of the wanted speed were reached, and it cannot be told whether the blades bear that: "+
			"write what their maker allows into the machine file, as greatest_head_speed under main_rotor", c.highest)
	}
	sheet.Take(finding.HighestSpeed+"_"+x.name, highest)
	sheet.Set(finding.ThrottleAtEnd+"_"+x.name, 100*(c.throttle-f.idle))
	f.holds = c.end == held
	f.tell(x, &c)
}

// doubts reports whether it cannot be told if a speed, %, is too high.
func (b bound) doubts(speed float64) bool {
	return b.doubted > 0 && speed > b.doubted && speed <= b.most
}

// came goes through the samples from the moment at which the clock starts.
func (f *faulting) came(x *fault, s *aftermath) (c consequence) {
	part := &s.part
	n := len(part.Time)
	start := min(sort.SearchFloat64s(part.Time, s.event), n-1)
	event := s.event + x.grace(f.own)
	closedSince := since(start, n, func(i int) bool { return f.closed(part.Throttle[i]) })
	heldSince := since(start, n, func(i int) bool { return math.Abs(part.Speed[i]-f.set) <= f.half() })
	c.closed = f.closed(part.Throttle[n-1])
	became := func(end end, from int) {
		c.end, c.after = end, part.Time[from]-s.event
		c.unsafe = math.Max(0, part.Time[from]-event)
	}
	c.unsafe = part.Time[n-1] - event
	lasted := func(from int) float64 { return part.Time[n-1] - part.Time[min(from, n-1)] }
	f.speeds(&c, s)
	switch {
	case x.shuts && lasted(closedSince) >= long:
		became(shut, closedSince)
	case x.shuts:
	case lasted(heldSince) >= long && s.answer.Verdict == finding.Yes:
		became(held, heldSince)
	case lasted(heldSince) >= long && s.answer.Verdict == finding.No && c.unsafe > x.within:
		c.end = hasSpeed
	case lasted(heldSince) >= long:
		c.end, c.why = untold, fmt.Sprintf("the set speed is back, but nothing shows that it is the governor's doing (%s)", s.answer.Why)
	case lasted(closedSince) >= long && part.Speed[n-1] < shutBelow*f.set:
		became(shut, closedSince)
	case lasted(closedSince) >= long:
		c.end, c.why = untold, "the throttle was closed at the end, but above the set speed any governor closes it"
	case f.returning(s):
		c.end, c.why = untold, "the speed was still on its way back to the set one when the watch ended"
	case c.unsafe <= x.within:
		c.end, c.why = untold, "the watch was too short"
	}
	return c
}

// returning reports whether the speed was being brought back to the set one at the end:
// it came nearer all the time, or the throttle went the right way all the time.
func (f *faulting) returning(s *aftermath) bool {
	part := &s.part
	n := len(part.Time)
	speed, end := part.EngineSpeed(0, n), part.Time[n-1]
	way := math.Copysign(1, f.set-speed.Between(end-1, end+1).Mean())
	throttle := measure.Series{T: part.Time, Y: f.g.Shares(part.Throttle)}
	return goes(speed, way, leastRise*f.set) || goes(throttle, way, leastOpening)
}

// goes reports whether the mean of each of the last four seconds lies farther one way,
// 1 or −1, than that of the one before, by more than least.
func goes(s measure.Series, way, least float64) bool {
	end := s.T[s.Len()-1]
	before := s.Between(end-4, end-3).Mean()
	for second := end - 3; second < end; second++ {
		mean := s.Between(second, second+1).Mean()
		if !((mean-before)*way > least) {
			return false
		}
		before = mean
	}
	return true
}

// leastRise and leastOpening are the least by which a speed that is on its way moves in
// a second, a share, and a throttle that brings it back, a share of the travel.
const leastRise, leastOpening = 0.002, 0.01

// long is for how long the end has to last to be one, s: what is watched beyond the
// limit, less a telemetry frame or two.
const long = margin - 0.01

// shutBelow is the share of the set speed below which a governor that still governed
// would have its throttle open.
const shutBelow = 0.9

// speeds reads how fast engine and head became, and what they do at the end.
func (f *faulting) speeds(c *consequence, s *aftermath) {
	part := &s.part
	n := len(part.Time)
	from := sort.SearchFloat64s(part.Time, s.turns)
	_, engine := part.EngineSpeed(from, n).Extent()
	_, head := part.HeadSpeed(from, n).Extent()
	c.highest = 100 * math.Max(engine, head*f.g.Machine.Ratio()) / f.g.Declared()
	c.throttle, c.last = f.g.Travel(part.Throttle[n-1]), 100*part.Speed[n-1]/f.g.Declared()
	lately := sort.SearchFloat64s(part.Time, part.Time[n-1]-awayTime)
	slowest, _ := part.EngineSpeed(lately, n).Extent()
	c.away = slowest > runsAway*f.set && since(lately, n, func(i int) bool { return !f.closed(part.Throttle[i]) }) <= lately
}

// awayTime is for how long an engine has to be too fast with the throttle open to be
// running away, s.
const awayTime = 0.5

// since is the first of the samples start..n from which on all are so; n is none.
func since(start, n int, so func(i int) bool) int {
	first := n
	for first > start && so(first-1) {
		first--
	}
	return first
}

// safe reports whether all that was measured is within its limits.
func (x *fault) safe(c *consequence) bool {
	return (c.end == held || c.end == shut) && c.unsafe <= x.within && c.highest <= x.highest.most
}
