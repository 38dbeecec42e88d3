package faults

import (
	"govrig/rig/execution/governed"
	"govrig/rig/phase"
)

// ready brings the governor back to holding the set speed, shown to govern: as it
// is, or by the stick going low and up again, or by a restart.
func (f *faulting) ready() (ok bool, err error) {
	if f.holds {
		if ok, err = f.healthy(true); ok || err != nil {
			return ok, err
		}
		f.t.Found("After the fault before (%s) the governor did not go on holding the set speed.", f.before)
	}
	low, err := f.letGo()
	if err != nil {
		return false, err
	}
	if low {
		if ok, err = f.upAgain(); ok || err != nil {
			return ok, err
		}
	}
	if ok, err = f.revive(); !ok || err != nil {
		return ok, err
	}
	if ok, err = f.upAgain(); ok {
		f.t.Found("After the fault before (%s) only switching the governor off and on brought it back.", f.before)
	}
	return ok, err
}

// letGo lets the stick go low, and reports whether throttle and engine followed.
func (f *faulting) letGo() (ok bool, err error) {
	g := f.g
	g.Orders.Stick = g.Stick(0)
	load := &g.Machine.LoadStep
	part, _, err := f.t.Play(g.Load(phase.Of("stick low"), float64(load.CollectiveLow), float64(load.Ramp), lowTime))
	if err != nil {
		return false, err
	}
	last := len(part.Time) - 1
	return f.closed(part.Throttle[last]) && part.Speed[last] < f.set, nil
}

// revive switches the governor off and on beside an engine that idles anew.
func (f *faulting) revive() (ok bool, err error) {
	if err = f.standing(); err != nil {
		return false, err
	}
	quiet := f.g.Phase(phase.Of("governor off and on"), 0.1)
	quiet.Mute = true
	if ok, err = f.restart(quiet); !ok || err != nil {
		return ok, err
	}
	_, _, err = f.t.Play(f.g.Phase(phase.Of("idle again"), governed.IdleTime))
	return err == nil, err
}

// standing lets the stick go low, stops the engine, and has it ready to idle.
func (f *faulting) standing() error {
	g := f.g
	g.Orders.Stick = g.Stick(0)
	g.Orders.Collective = float64(g.Machine.LoadStep.CollectiveLow)
	off := g.Phase(before("engine off"), lowTime/3)
	off.Mute = true
	if _, _, err := f.t.Play(g.Phase(before("stick low"), lowTime), off); err != nil {
		return err
	}
	f.t.Helicopter()
	return nil
}

// upAgain lets the stick go up, and shows that the governor is healthy.
func (f *faulting) upAgain() (ok bool, err error) {
	g := f.g
	g.Orders.Stick = f.up()
	up := g.Settled(phase.Of("up again"), 5+3*f.spool, 0.5)
	if _, ok, err = f.t.Play(up); !ok || err != nil {
		return false, err
	}
	return f.healthy(false)
}
