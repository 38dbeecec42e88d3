package loadstep

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/rig/runlog"
)

// lead is how much of the speed before a load change is shown, s.
const lead = 1.0

// viewOf shows a change of load: what the speed must keep off in the vocabulary of
// ISO 8528-5, the steady-state speed band before the change, the transient
// deviation after it, and the tolerance band about the new speed once the recovery
// time is over.
func viewOf(g *governed.Governor, part *execution.Trace, kind phase.Kind, moment string, load step.Load) runlog.View {
	event, to := part.Span(g.Key(kind))
	ratio, limits := g.Machine.Ratio(), g.Setting.Limits
	wanted := g.Declared() / ratio
	v := runlog.View{
		Title: string(kind), Setting: g.Setting.Name, Origin: part.Time[event], From: part.Time[event] - lead, To: part.Time[to-1],
		Axis: "seconds from the load change", Wanted: wanted,
	}
	word := "rise"
	if kind == phase.LoadOn {
		word = "dip"
		if limits.Dip != nil {
			v.Beyond = append(v.Beyond, runlog.Ground{From: runlog.Edge(0), High: runlog.Edge(wanted * (1 - float64(*limits.Dip)))})
		}
	} else if limits.Overshoot != nil {
		v.Beyond = append(v.Beyond, runlog.Ground{From: runlog.Edge(0), Low: runlog.Edge(wanted * (1 + float64(*limits.Overshoot)))})
	}
	if limits.Band != nil && load.Initial.OK() {
		v.Beyond = append(v.Beyond, runlog.Outside(nil, runlog.Edge(0), load.Initial.Value/ratio, wanted*float64(*limits.Band)/2)...)
	}
	if limits.RecoveryTime != nil && load.Final.OK() {
		over := float64(*limits.RecoveryTime)
		if load.Exit.OK() {
			over += load.Exit.Value
		}
		v.Beyond = append(v.Beyond, runlog.Outside(runlog.Edge(over), nil, load.Final.Value/ratio, wanted*governed.Tolerance/200)...)
	}
	if load.Extreme.OK() {
		v.Marks = []runlog.Mark{{At: load.ExtremeTime.Value, Speed: load.Extreme.Value / ratio}}
	}
	v.Notes = []runlog.Note{
		{Word: word, Key: measure.Key{What: "transient_deviation", Moment: moment, Setting: g.Setting.Name}},
		{Word: "recovery", Key: measure.Key{What: "recovery_time", Moment: moment, Setting: g.Setting.Name}},
	}
	return v
}

// flightView shows the loads that imitate flight; while the engine is overloaded,
// no dip is held against it.
func flightView(g *governed.Governor, part *execution.Trace) runlog.View {
	from, to := part.Span(g.Key(phase.Climb))
	for _, kind := range []phase.Kind{levelOut, phase.Stop} {
		if first, last := part.Span(g.Key(kind)); last > first {
			to = last
		}
	}
	wanted, limits := g.Declared()/g.Machine.Ratio(), g.Setting.Limits
	v := runlog.View{
		Title: "loads that imitate flight", Setting: g.Setting.Name, Axis: "seconds", Wanted: wanted, Minor: true,
		Origin: part.Time[from], From: part.Time[from], To: part.Time[to-1],
	}
	over := math.Inf(1)
	if first, last := part.Span(g.Key(phase.Overload)); last > first {
		over = part.Time[first] - v.Origin
	}
	if limits.Dip != nil {
		ground := runlog.Ground{High: runlog.Edge(wanted * (1 - float64(*limits.Dip)))}
		if !math.IsInf(over, 0) {
			ground.To = &over
		}
		v.Beyond = append(v.Beyond, ground)
	}
	if limits.Overshoot != nil {
		v.Beyond = append(v.Beyond, runlog.Ground{Low: runlog.Edge(wanted * (1 + float64(*limits.Overshoot)))})
	}
	for _, n := range [][2]string{{"worst dip", "flight_worst_dip"}, {"worst rise", "flight_worst_rise"}, {"after overload", "overload_overshoot"}} {
		v.Notes = append(v.Notes, runlog.Note{Word: n[0], Key: measure.Key{What: n[1], Setting: g.Setting.Name}})
	}
	return v
}
