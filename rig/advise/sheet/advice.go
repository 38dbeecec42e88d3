package sheet

import (
	"fmt"
	"math"

	"govrig/sim/machine"

	"govrig/sim/words"
)

// Where a sheet begins to suggest a change. All are common practice, no
// source.
const (
	fairMargin     = 2.0  // of the field over what the worst part needs
	fairRodMM      = 0.25 // off the square rod
	fairSquareDeg  = 2.0  // off square at mid travel
	fairSlope      = 15.0 // percent to either side of the mean
	fairWorstAngle = 40.0 // degrees between rod and arm
	fairGrowth     = 4.0  // steepest over flattest
	fairClosedPct  = 10.0 // open area left at the closed end
	fairOpenPct    = 97.0 // open area reached at the open end
	fairPastDeg    = 1.0  // past fully open at the open end
	fairShutPct    = 7.5  // of the travel with the barrel shut
	usualFrames    = 55.0 // a second, that any servo takes
	fairFrames     = 1.1  // of the frames that a servo is made for
)

// changes are what to change on the machine.
func (s *Sheet) changes() []string {
	all := []string{}
	add := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	s.bladeChanges(add)
	for _, row := range s.Speeds {
		s.speedChanges(row, add)
	}
	s.Pickup.changes(add)
	s.servoChanges(add)
	s.Throttle.changes(add)
	return all
}

type adder func(format string, args ...any)

// bladeChanges come first: nothing else on the sheet can throw a blade.
func (s *Sheet) bladeChanges(add adder) {
	switch {
	case s.GreatestHeadRPM == 0:
		add("Blades: find the greatest head speed that their maker allows, on the blades or in their leaflet, and write it into the machine file as greatest_head_speed under main_rotor. Until then nobody can tell whether %.0f rpm is safe for them.",
			s.fastest().SetHeadRPM)
	case s.HighestHeadRPM > s.GreatestHeadRPM:
		add("Blades: at its highest setting the governor turns the head at %.0f rpm, and the blade maker allows %.0f. Lower that end in the governor if it lets you; else mark how far the transmitter may go.",
			s.HighestHeadRPM, s.GreatestHeadRPM)
	}
}

// servoChanges hold the governor's frames against the servo.
func (s *Sheet) servoChanges(add adder) {
	switch rate := s.GovernorFramesHz; {
	case s.ServoFramesHz == 0 && rate > usualFrames:
		add("Servo: the governor sends %.0f pulses a second. Find out whether the throttle servo is made for that, and write its kind or highest_frame_rate into the machine file; an analogue one may run hot and fail.", rate)
	case s.ServoFramesHz > 0 && rate > fairFrames*s.ServoFramesHz:
		add("Servo: the governor sends %.0f pulses a second, and the throttle servo is made for %.0f. It may run hot and fail: take another servo, or a slower setting of the governor.", rate, s.ServoFramesHz)
	}
}

func (s *Sheet) speedChanges(row SpeedRow, add adder) {
	if off := row.SetHeadRPM - row.WantedHeadRPM; math.Abs(off) > 0.01*row.WantedHeadRPM {
		add("%s: the governor comes no nearer than %.0f rpm on the head, %+.1f %% off. Choose another head speed or another pinion.",
			row.Name, row.SetHeadRPM, 100*off/row.WantedHeadRPM)
	}
	if s.GreatestHeadRPM > 0 && row.SetHeadRPM > s.GreatestHeadRPM {
		add("%s: the nearest setting of the governor, %.1f rpm on the head, is above the %.0f that the blade maker allows. Take the next one below.",
			row.Name, row.SetHeadRPM, s.GreatestHeadRPM)
	}
	if row.TipMach > machine.CautionTipMach {
		add("%s: blade tips at Mach %.2f; model rotors run at 0.35 to 0.5. Lower the head speed unless the blades' maker allows it.",
			row.Name, row.TipMach)
	}
	if row.BoardProblem != "" {
		add("%s: the rig cannot play this speed: %s.", row.Name, row.BoardProblem)
	}
}

func (p PickupPart) changes(add adder) {
	expected := p.GovernorPulses
	switch {
	case p.StuckOn:
		add("Pickup: its output stays on all the time and gives no pulses.%s", p.remedyText())
	case p.PulsesPerTurn == 0:
		add("Pickup: no pulses.%s", p.remedyText())
	case p.PulsesPerTurn != expected:
		add("Pickup: %s a turn, but the governor is told %d: it would hold %.3g times the speed it shows. Tell it %d, or change the pickup.%s",
			words.Count(p.PulsesPerTurn, "pulse"), expected, float64(expected)/float64(p.PulsesPerTurn), p.PulsesPerTurn, p.remedyText())
	case p.WorstPulses != expected:
		add("Pickup: a sensor at the end of its tolerance would give %s a turn, not %d.%s", words.Count(p.WorstPulses, "pulse"), expected, p.remedyText())
	case p.Margin < fairMargin:
		add("Pickup: the field is only %.1f times what the least sensitive part needs; plan for %.0f. A smaller gap or a stronger magnet.", p.Margin, fairMargin)
	}
}

func (p PickupPart) remedyText() string {
	if p.Remedy == "" {
		return ""
	}
	return fmt.Sprintf(" It would be right if you %s.", p.Remedy)
}

func (t Throttle) changes(add adder) {
	if t.target() == t.Square {
		add("Throttle rod: make it %s, %.1f mm between ball centres. With the servo arm square at mid travel the other arm then stands square too, and the slope stays within ±%.0f %% instead of ±%.0f %%. Then clamp that arm so that the barrel is just fully open at the open end; the figures under \"square rod\" are for that.",
			longer(t.SquareRodMM-t.RodMM), t.SquareRodMM, t.Square.SlopeSpreadPercent, t.AsBuilt.SlopeSpreadPercent)
	}
	t.target().changes(t.Suggestion, add)
}

func longer(mm float64) string {
	if mm < 0 {
		return fmt.Sprintf("%.1f mm shorter", -mm)
	}
	return fmt.Sprintf("%.1f mm longer", mm)
}

func (c *Course) changes(suggestion string, add adder) {
	if off := math.Abs(math.Abs(c.MidServoDeg) - 90); off > fairSquareDeg {
		add("Servo arm: at mid travel it stands at %.0f°, not square. Move it on its splines.", c.MidServoDeg)
	}
	if c.SlopeSpreadPercent > fairSlope {
		text := fmt.Sprintf("Throttle: the slope changes by ±%.0f %% over the travel and the two halves of the throw differ by %.0f %%.",
			c.SlopeSpreadPercent, math.Abs(c.AsymmetryPercent))
		if suggestion != "" {
			text += " Better: " + suggestion + "."
		}
		add("%s", text)
	}
	if c.WorstAngleDeg < fairWorstAngle {
		add("Throttle: rod and carburettor arm come within %.0f° of one line; the arm may jam. Use less travel.", c.WorstAngleDeg)
	}
	c.barrelChanges(add)
}

func (c *Course) barrelChanges(add adder) {
	closed, open := c.Points[0], c.Points[len(c.Points)-1]
	switch {
	case open.BarrelDeg < -fairPastDeg:
		add("Barrel: at the open end it stands %.0f° past fully open and has begun to close. Clamp its arm back by as much, or lower that end of the travel.", -open.BarrelDeg)
	case open.AreaPct < fairOpenPct:
		add("Barrel: only %.0f %% open at the open end. Clamp its arm %.0f° further toward open.", open.AreaPct, open.BarrelDeg)
	}
	if closed.AreaPct > fairClosedPct {
		add("Barrel: still %.0f %% open at the closed end; the throttle may not slow the engine enough. Give it more throw.", closed.AreaPct)
	}
	if dead := c.shutPercent(); dead > fairShutPct {
		add("Barrel: shut over the first %.0f %% of the servo's travel; the governor moves nothing there. Less throw, or clamp its arm further open.", dead)
	}
	c.growthChanges(add)
}

func (c *Course) growthChanges(add adder) {
	ratio := c.GainRatio()
	switch {
	case c.Flattest.PerTravel <= 0:
		add("Loop gain: at %+.0f %% of travel the open area no longer grows; there the governor has no hold on the engine.", c.Flattest.TravelPercent)
	case ratio > fairGrowth:
		add("Loop gain: the open area grows %s as fast at %+.0f %% of travel as at %+.0f %%. Set the governor's gain for the steep place.",
			times(ratio), c.Steepest.TravelPercent, c.Flattest.TravelPercent)
	}
}

func times(ratio float64) string {
	if ratio >= 100 {
		return "over 100 times"
	}
	return fmt.Sprintf("%.1f times", ratio)
}

// GainRatio is how many times steeper the open area grows at its steepest than
// at its flattest; +Inf where it stands still or falls.
func (c *Course) GainRatio() float64 {
	if c.Flattest.PerTravel <= 0 {
		return math.Inf(1)
	}
	return c.Steepest.PerTravel / c.Flattest.PerTravel
}

// shutPercent is the share of the whole travel over which the barrel is shut.
func (c *Course) shutPercent() float64 {
	shut := 0
	for shut < len(c.Points) && c.Points[shut].AreaPct == 0 {
		shut++
	}
	return 100 * math.Max(0, float64(shut-1)) / (spots - 1)
}
