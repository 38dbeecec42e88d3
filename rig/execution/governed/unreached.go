package governed

import "govrig/rig/execution"

// TellUnreached says why no select width gives the wanted speed, where one is off by
// so many % at best, and what to do, as far as the widths that were tried tell.
func (g *Governor) TellUnreached(t *execution.Test, s *Search, off float64) (unreached bool) {
	if SpeedErrorLimit(&g.Machine.Governor, g.Setting, g.Engine()).Met(off) {
		return false
	}
	best := s.Best()
	held := best.Speed / g.Machine.Ratio()
	below, above, staircase := s.Staircase()
	_, between := s.Across()
	switch {
	case !s.Follows():
		t.Next("%s: turn its speed setting in the governor %s, then run hold again.", g.Setting.Name, turnBy(s))
	case s.NoEffect():
		t.Found("%s: select pulses clearly apart give the same speed: the select line has no effect.", g.Setting.Name)
		t.Next("See that the select line goes to the governor's speed input, and that the governor is set to take its speed from there.")
	case s.Swings: // what swings is told elsewhere
	case g.DeadBand > 0:
		t.Found("%s: the speed stays off by %+.1f %%: within its dead band the governor does not mind.", g.Setting.Name, off)
	case !s.Rested:
		t.Found("%s: the speed was still moving after %.0f s at the same select pulse, so it cannot be told which pulse gives the wanted one.", g.Setting.Name, RestLimit)
		t.Next("%s: look in the governor's manual for its integral: it is very slow.", g.Setting.Name)
	case staircase:
		t.Found("%s: no select pulse gives it: the speed setting moves in coarse steps, and the nearest are %.0f and %.0f rpm at the head.",
			g.Setting.Name, below/g.Machine.Ratio(), above/g.Machine.Ratio())
		t.Next("%s: choose a head speed that the governor can be set to, such as %.0f rpm, or other gears.", g.Setting.Name, held)
	case !between && (best.Width <= s.Low+SelectStep || best.Width >= s.High-SelectStep):
		t.Found("%s: even at the end of the select travel the head turns at %.0f rpm.", g.Setting.Name, held)
		t.Next("%s: choose a head speed that the governor can be set to, such as %.0f rpm, or other gears; or look at lowest and highest speed in the governor and in the machine file.", g.Setting.Name, held)
	default:
		t.Found("%s: the nearest that %d select pulses came to it is %.0f rpm at the head.", g.Setting.Name, len(s.Tries), held)
		t.Next("%s: compare lowest and highest speed and the select ends in the machine file with the governor's manual.", g.Setting.Name)
	}
	return true
}
