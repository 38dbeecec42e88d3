package throttle

import (
	"math"

	"govrig/rig/execution"
	"govrig/sim/linkage"
)

// farOff is how far from square an arm is worth a word, °.
const farOff = 5.0

// readBarrel sets the governor's travel against the machine's linkage.
func (l *throttleTest) readBarrel(closed, open float64, opens bool, why string) {
	sheet := l.T.Sheet
	bars, err := linkage.New(l.T.Bench.Machine.LinkageParams())
	if err != nil {
		opens, why = false, err.Error()
		sheet.NotRun("barrel_open_at_closed_end", why)
	} else {
		sheet.Set("barrel_open_at_closed_end", 100*barrel(bars, closed))
	}
	if !opens {
		sheet.NotRun("barrel_open_at_open_end", why)
		sheet.NotRun("arm_off_square_at_mid", why)
		return
	}
	sheet.Set("barrel_open_at_open_end", 100*barrel(bars, open))
	off := offSquare(bars, (closed+open)/2)
	sheet.Set("arm_off_square_at_mid", off)
	l.adviseBarrel(bars, closed, open, off)
}

func (l *throttleTest) adviseBarrel(bars *linkage.Linkage, closed, open, off float64) {
	ownClosed, ownOpen := ownEnds(l.T.Bench.Machine)
	l.T.Found("The governor's travel runs from %.0f %% to %.0f %% of the servo's and opens the barrel from %.0f %% to %.0f %%.",
		whole(closed), whole(open), whole(barrel(bars, closed)), whole(barrel(bars, open)))
	if barrel(bars, closed) > ownClosed+allowedOpening/100 || barrel(bars, open) < ownOpen-allowedOpening/100 {
		l.T.Next("Teach the governor its stick ends again, or look in its manual for a limit of the throttle, then run throttle again: its travel does not reach the ends of the servo's.")
	}
	if ownClosed > allowedOpening/100 {
		l.T.Found("The linkage itself leaves the barrel %.0f %% open at the closed end; that is no fault of the governor.", 100*ownClosed)
	}
	if ownOpen < 0.9 {
		l.T.Found("The linkage itself opens the barrel only %.0f %%; that is no fault of the governor.", 100*ownOpen)
	}
	if off > farOff {
		l.T.Found("In the middle of the travel an arm stands %.0f° from square, so that the throttle opens and closes unevenly; that is the linkage's doing.", off)
		p := bars.Params()
		if more := 1000 * (p.SquareRod() - p.Rod); math.Abs(more) > 0.5 {
			l.T.Next("Make the rod %.1f mm long instead of %.1f mm: both arms then stand square in the middle. See plan for the rest of the linkage.", 1000*p.SquareRod(), 1000*p.Rod)
		}
	}
}

// whole is a share in whole per cent, never −0.
func whole(share float64) float64 { return math.Round(100*share) + 0 }

// barrel is the open share of the carburettor at a throttle, beyond whose ends
// the servo arm is taken to stop.
func barrel(bars *linkage.Linkage, throttle float64) float64 {
	share, _, _ := bars.Opening(max(-1, min(1, 2*throttle-1))) // New has checked the travel
	return share
}

// offSquare is the larger angle by which an arm is not square, °.
func offSquare(bars *linkage.Linkage, throttle float64) float64 {
	pose, _ := bars.At(max(-1, min(1, 2*throttle-1))) // New has checked the travel
	off := func(arm float64) float64 { return math.Abs(math.Abs(arm)*execution.Degrees - 90) }
	return max(off(pose.Servo), off(pose.Carb))
}
