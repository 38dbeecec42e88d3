package spoolup

import (
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/rig/runlog"
)

// viewOf shows the way from idling to the setting, and the overshoot that it must
// keep off.
func viewOf(g *governed.Governor, part *execution.Trace) runlog.View {
	from, _ := part.Span(phase.Of(phase.Idle))
	_, to := part.Span(phase.Of(phase.SpoolUp))
	wanted := g.Declared() / g.Machine.Ratio()
	v := runlog.View{
		Title: "from idling to the setting", Setting: g.Setting.Name, Axis: "seconds from the start", Wanted: wanted, Engine: true,
		Origin: part.Time[from], From: part.Time[from], To: part.Time[to-1],
	}
	if most := g.Setting.Limits.Overshoot; most != nil {
		v.Beyond = []runlog.Ground{{Low: runlog.Edge(wanted * (1 + float64(*most)))}}
	}
	for _, n := range [][2]string{{"time", "spool_up_time"}, {"overshoot", "spool_up_overshoot"}} {
		v.Notes = append(v.Notes, runlog.Note{Word: n[0], Key: measure.Key{What: n[1]}})
	}
	return v
}
