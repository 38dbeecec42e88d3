package throttle

import (
	"math"
	"slices"

	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/sim/linkage"
	"govrig/sim/machine"
)

const (
	stickMargin = 3.0 // % of the travel; see finding
	curve       = "curve_margin_"
	holdMargin  = "hold_margin"
	holdOpen    = "barrel_open_in_hold"
	cutOpen     = "barrel_open_at_cut"
	marginIs    = "of the stick travel; limit: our own, for trim, drift and heat"
)

// transmitterMeasures declares those of the transmitter, where the machine file has
// one.
func transmitterMeasures(m *machine.Machine) (all []measure.Declaration) {
	t := m.Transmitter
	if t == nil {
		return nil
	}
	for _, mode := range t.Modes {
		if mode.Flown == machine.Governed {
			all = append(all, measure.Declaration{
				Name: curve + mode.Name, Unit: "%", Limit: measure.AtLeast(stickMargin), Convention: "lowest point of the throttle curve less the disarming threshold, " + marginIs,
				Meaning: "How far the throttle curve of the flight mode stays above disarming.",
			})
		}
	}
	if t.Hold != nil {
		all = append(all, measure.Declaration{
			Name: holdMargin, Unit: "%", Limit: measure.AtLeast(stickMargin), Convention: "disarming threshold less throttle hold, " + marginIs,
			Meaning: "How far throttle hold is below disarming.",
		}, measure.Declaration{
			Name: holdOpen, Unit: "%", Limit: measure.AtLeast(allowedOpening), Convention: "of the full area, by the throttle's way and the machine's linkage; limit: our own, an open barrel",
			Meaning: "How far the barrel is open in throttle hold; the engine has to idle.",
		})
	}
	if t.EngineCut != nil {
		all = append(all, measure.Declaration{
			Name: cutOpen, Unit: "%", Limit: measure.AtMost(allowedOpening), Convention: "of the full area, by the throttle's way and the machine's linkage; limit: our own, as good as shut",
			Meaning: "How far the barrel is open at the engine cut.",
		})
	}
	return all
}

// readTransmitter judges the transmitter's curves, hold and cut by the thresholds.
func (l *throttleTest) readTransmitter() {
	t := l.T.Bench.Machine.Transmitter
	if t == nil {
		return
	}
	if l.thresholds != "" {
		for _, d := range transmitterMeasures(l.T.Bench.Machine) {
			l.T.Sheet.NotRun(d.Name, l.thresholds)
		}
		return
	}
	at := finding.Thresholds{Arm: l.arm, Disarm: l.release}
	for _, mode := range t.Modes {
		if mode.Flown == machine.Governed {
			l.readCurve(mode, at)
		}
	}
	l.readHold(t, at)
	l.readCut(t)
}

// readCurve judges a flight mode.
func (l *throttleTest) readCurve(mode machine.FlightMode, at finding.Thresholds) {
	var sticks []float64
	for _, share := range mode.Curve {
		sticks = append(sticks, l.Share(l.T.Bench.Machine.Transmitter.Pulse(share)))
	}
	c := finding.CurveOf(sticks, at)
	l.T.Sheet.Set(curve+mode.Name, 100*(c.Lowest-at.Disarm))
	switch c.Kind {
	case finding.NeverEngages:
		l.T.Found("%s: the throttle curve goes up to %.0f %% of the stick's way and the governor engages at %.1f %%: it would not engage.", mode.Name, 100*slices.Max(sticks), 100*at.Arm)
	case finding.Disengages:
		l.T.Found("%s: the throttle curve goes down to %.0f %% of the stick's way and the governor disengages at %.1f %%: it may disengage in flight.", mode.Name, 100*c.Lowest, 100*at.Disarm)
	default:
		l.T.Found("%s: the throttle curve stays at or above %.0f %% of the stick's way, clear of disengaging.", mode.Name, 100*c.Lowest)
		return
	}
	l.T.Next("Raise the throttle curve of %s in the transmitter and in the machine file until its lowest point is above %.0f %% of the stick's way.", mode.Name, math.Ceil(100*at.Arm+stickMargin))
}

// opening is the open share of the barrel with the stick at a share, where the
// throttle follows it.
func (l *throttleTest) opening(stick float64) (float64, bool) {
	bars, err := linkage.New(l.T.Bench.Machine.LinkageParams())
	if err != nil || !l.follows {
		return 0, false
	}
	return barrel(bars, l.line.At(max(stick, l.line.From))), true
}

// readHold judges throttle hold.
func (l *throttleTest) readHold(t *machine.Transmitter, at finding.Thresholds) {
	if t.Hold == nil {
		return
	}
	stick := l.Share(t.Pulse(*t.Hold))
	l.T.Sheet.Set(holdMargin, 100*(at.Disarm-stick))
	if !at.LetsGo(stick) {
		l.T.Found("Throttle hold is at %.0f %% of the stick's way and the governor disengages at %.1f %%: it may go on governing, and open the throttle, in an autorotation.", 100*stick, 100*at.Disarm)
		l.T.Next("Lower throttle hold in the transmitter and in the machine file to below %.0f %% of the stick's way.", math.Floor(100*at.Disarm-stickMargin))
	}
	open, ok := l.opening(stick)
	l.takeOpening(holdOpen, open, ok)
	if ok && 100*open < allowedOpening {
		l.T.Found("In throttle hold the barrel is shut: the engine would stop.")
		l.T.Next("Raise throttle hold until the engine idles, and write it into the machine file.")
	}
}

// readCut judges the engine cut.
func (l *throttleTest) readCut(t *machine.Transmitter) {
	if t.EngineCut == nil {
		return
	}
	open, ok := l.opening(l.Share(t.Pulse(*t.EngineCut)))
	l.takeOpening(cutOpen, open, ok)
	if ok && 100*open > allowedOpening {
		l.T.Found("At the engine cut the barrel is still %.0f %% open: the engine may go on running.", 100*open)
		l.T.Next("Lower the engine cut in the transmitter, or the closed end that the governor was taught, until the barrel shuts; start no engine that cannot be cut.")
	}
}

func (l *throttleTest) takeOpening(name string, open float64, ok bool) {
	if ok {
		l.T.Sheet.Set(name, 100*open)
	} else {
		l.T.Sheet.NotRun(name, "the throttle did not follow the stick anywhere")
	}
}
