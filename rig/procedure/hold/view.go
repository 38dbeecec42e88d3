package hold

import (
	"govrig/rig/execution/governed"
	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// viewOf shows a setting under light and heavy load, and what the speed must keep
// off while the load is light: the ground beyond the steady-state speed band about
// its mean, rpm of the engine.
func viewOf(g *governed.Governor, light steady, to float64) runlog.View {
	mean := light.speed.Mean()
	wanted := g.Declared() / g.Machine.Ratio()
	v := runlog.View{
		Title: "light, heavy, light load", Setting: g.Setting.Name, Axis: "seconds", Wanted: wanted,
		Origin: light.from, From: light.from, To: to,
	}
	if band := g.Setting.Limits.Band; band != nil && mean.OK() {
		end := light.to - v.Origin
		v.Beyond = runlog.Outside(runlog.Edge(0), &end, mean.Value/g.Machine.Ratio(), wanted*float64(*band)/2)
	}
	for _, n := range [][2]string{{"band", "steady_state_speed_band"}, {"droop", "speed_droop"}, {"swing", "hunting_swing"}} {
		v.Notes = append(v.Notes, runlog.Note{Word: n[0], Key: measure.Key{What: n[1], Setting: g.Setting.Name}})
	}
	return v
}
