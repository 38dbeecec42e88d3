package loadstep

import (
	"errors"
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/execution/governed"
	"govrig/rig/finding"
	"govrig/rig/measure"
	"govrig/rig/measure/step"
	"govrig/rig/phase"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/unit"
)

// The series of loads that imitates flight.
const (
	climbTime    = 3.0  // s of heavy load
	levelTime    = 2.0  // s of light load between two manoeuvres
	loopTime     = 0.5  // s of each heavy and each light stretch of a loop
	loops        = 3    // heavy stretches in a row
	overloadTime = 2.0  // s of more load than the engine can hold
	stopTime     = 5.0  // s of light load after it
	overloadMore = 0.03 // rad of collective above the most that the engine can hold
)

// levelOut is the last of the loads that the engine can hold.
const levelOut phase.Kind = "level out"

// overload is a collective, rad, a bit above what full throttle can hold at the
// present setting; or else why there is none.
func overload(g *governed.Governor) (collective float64, why string) {
	plant := heli.New(g.Machine.HeliParams(), execution.StepTime)
	tooMuch := func(collective float64) bool {
		_, _, err := plant.Trim(float64(g.Setting.HeadSpeed), collective)
		return errors.Is(err, heli.ErrNoPower) || errors.Is(err, heli.ErrSlip)
	}
	held, over := float64(g.Machine.LoadStep.CollectiveHigh), heli.MaxCollective-overloadMore
	switch {
	case tooMuch(held):
		return 0, "the heavy load is more than the engine can hold already"
	case !tooMuch(over):
		return 0, "no collective is more than the engine can hold"
	}
	for range 20 {
		if middle := (held + over) / 2; tooMuch(middle) {
			over = middle
		} else {
			held = middle
		}
	}
	return over + overloadMore, ""
}

// flight is the series, with an overload unless that is 0.
func flight(g *governed.Governor, over float64) []rig.Phase {
	load := g.Machine.LoadStep
	ramp := float64(load.Ramp)
	move := func(kind phase.Kind, number int, collective unit.Angle, time float64) rig.Phase {
		key := g.Key(kind)
		key.Number = number
		return g.Load(key, float64(collective), math.Min(ramp, time), time)
	}
	all := []rig.Phase{move(phase.Climb, 0, load.CollectiveHigh, climbTime), move("level", 0, load.CollectiveLow, levelTime)}
	for i := range loops {
		all = append(all,
			move("pull", i+1, load.CollectiveHigh, loopTime),
			move("ease", i+1, load.CollectiveLow, loopTime))
	}
	all = append(all, move(levelOut, 0, load.CollectiveLow, levelTime))
	if over > 0 {
		all = append(all, move(phase.Overload, 0, unit.Angle(over), overloadTime), move(phase.Stop, 0, load.CollectiveLow, stopTime))
	}
	return all
}

func flightMeasures(setting machine.SpeedSetting) []measure.Declaration {
	dip, rise := governed.Deviations(setting.Limits)
	const deviation = "greatest departure from the steady speed before, in % of the declared (wanted) speed; limit: that of a single load step"
	return []measure.Declaration{
		{
			Name: "flight_worst_dip", Unit: "%", Limit: dip, Convention: deviation,
			Meaning: "How far the speed dips at worst in a climb and in three quick pulls one after the other.",
		},
		{
			Name: "flight_worst_rise", Unit: "%", Limit: rise, Convention: deviation,
			Meaning: "How far it rises at worst in them.",
		},
		{
			Name: "overload_overshoot", Unit: "%", Limit: rise, Convention: deviation,
			Meaning: "How far the speed rises when a load goes off that was more than full throttle could hold.",
		},
		{
			Name: "wind_up_time", Unit: "s", Limit: measure.AtMost(finding.WindUpTime),
			Meaning:    "How long the throttle stays wide open after that, though the speed is above what it was.",
			Convention: "from when the speed is above what it was before the overload; limit, our own: what a governor needs to see the speed and to send a frame",
		},
	}
}

func readFlight(g *governed.Governor, t *execution.Test, part *execution.Trace, whyNoOverload string) {
	first, last := part.Span(g.Key(phase.Steady))
	before := step.MeanSpeed(part.EngineSpeed(first, last)).Value
	off := func(from, to phase.Kind) (least, most float64) {
		first, _ := part.Span(g.Key(from))
		_, last := part.Span(g.Key(to))
		least, most = part.EngineSpeed(first, last).Extent()
		return 100 * (least - before) / g.Declared(), 100 * (most - before) / g.Declared()
	}
	dip, rise := off(phase.Climb, levelOut)
	g.Take(t, "flight_worst_dip", measure.Read(dip))
	g.Take(t, "flight_worst_rise", measure.Read(rise))
	if whyNoOverload != "" {
		g.Take(t, "overload_overshoot", measure.Missing("%s", whyNoOverload))
		g.Take(t, "wind_up_time", measure.Missing("%s", whyNoOverload))
		return
	}
	sag, _ := off(phase.Overload, phase.Overload)
	_, over := off(phase.Stop, phase.Stop)
	g.Take(t, "overload_overshoot", measure.Read(over))
	t.Found("%s: overloaded, the speed sags by %.1f %%; when the load goes off it rises to %.1f %% above what it was.",
		g.Setting.Name, -sag, max(0, over))
	from, to := part.Span(g.Key(phase.Stop))
	throttle := measure.Series{T: part.Time[from:to], Y: g.Shares(part.Throttle[from:to])}
	first, last = part.Span(g.Key(levelOut))
	level := g.Shares(part.Throttle[first:last])
	held, is := finding.WindUp(part.EngineSpeed(from, to), throttle, level, before)
	g.Take(t, "wind_up_time", measure.Read(held))
	if is {
		t.Found("%s: that is wind-up: the throttle stays wide open for %.1f s with the speed above what it was, because the governor went on adding while it could give no more.", g.Setting.Name, held)
		t.Next("Fly without overloading the engine: less collective, or a lower speed setting; ask the governor's maker for a newer version.")
	}
}
