package execution

import (
	"fmt"

	"govrig/protocol"
	"govrig/rig"
	"govrig/rig/measure"
)

// HealthMeasures tell how well the rig itself did. They are taken in every
// closed-loop procedure. How old the news is that the rig acts on has no limit:
// what it does to the pulses has.
var HealthMeasures = []measure.Declaration{
	{
		Rig: true, Name: "pulse_interval_error", Unit: "%", Limit: measure.AtMost(100 * rig.IntervalLimit),
		Meaning:    "How true the pickup pulses were to the simulated engine: typical error of their spacing.",
		Convention: "root mean square of (interval played / interval of the plant − 1)",
	},
	{
		Rig: true, Name: "pulse_interval_error_worst", Unit: "%", Limit: measure.AtMost(100 * rig.WorstIntervalLimit),
		Meaning: "The same, worst pulse of the run.",
	},
	{
		Rig: true, Name: "pulses_unpaired", Unit: "1", Limit: measure.AtMost(0),
		Meaning: "How many pickup pulses could not be compared with the simulated engine.",
	},
	{
		Rig: true, Name: "loop_delay", Unit: "ms",
		Meaning:    "How long the rig takes from looking at the governor to acting on what it saw.",
		Convention: "mean time from a telemetry moment to the moment its drive was applied",
	},
	{
		Rig: true, Name: "loop_delay_spread", Unit: "ms",
		Meaning:    "How unevenly it takes that long.",
		Convention: "standard deviation of the loop delay",
	},
	{
		Rig: true, Name: "late_frames", Unit: "1",
		Meaning: "How often an answer came later than the board's next message; the pulses meanwhile go on as foreseen. On a slow wire that is usual.",
	},
	{
		Rig: true, Name: "frames_lost", Unit: "1", Limit: measure.AtMost(0),
		Meaning: "How many messages were damaged or lost on the wire, either way.",
	},
}

// pulseMeasures is how many of them, the first, are of the pickup pulses
// played.
const pulseMeasures = 3

// readHealth takes the rig's own measures. Where one misses its limit, it is the
// rig that went wrong and not the governor: the whole is an error.
func readHealth(sheet *measure.Sheet, session *rig.Session, h rig.Health, quiet bool) {
	defer judgeHealth(sheet, h, session.Baud())
	if doubt := session.ClockError.Doubt(); doubt != nil {
		sheet.Break("%v", doubt)
	}
	if quiet {
		readLink(sheet, session, h)
		return
	}
	if h.Intervals == 0 {
		sheet.NotRun("pulse_interval_error", "no pickup pulses were played")
		sheet.NotRun("pulse_interval_error_worst", "no pickup pulses were played")
		sheet.NotRun("pulses_unpaired", "no pickup pulses were played")
	} else {
		sheet.Set("pulses_unpaired", float64(h.Unpaired))
		sheet.Set("pulse_interval_error", 100*h.IntervalRMS())
		sheet.Set("pulse_interval_error_worst", 100*h.WorstInterval)
	}
	readLink(sheet, session, h)
}

// slower advises a lower speed of the wire where that could help.
func slower(name string, baud int) string {
	if name == "frames_lost" && baud == protocol.BaudFast {
		return fmt.Sprintf(", or half the speed (--baud %d)", protocol.BaudSlow)
	}
	return ""
}

func judgeHealth(sheet *measure.Sheet, h rig.Health, baud int) {
	result := sheet.Result()
	for _, d := range HealthMeasures {
		if m := result.Find(d.Name); m != nil && m.Outcome == measure.Fail {
			sheet.Break("the rig was not good enough to judge the governor: %s is %.4g, must be %s; %s%s, and run it again",
				d.Name, *m.Value, d.Limit, remedy(h), slower(d.Name, baud))
		}
	}
}

// slowWire is a loop delay, s, from which on a wire is slow: beyond it the plant's
// own latency hides it no more.
const slowWire = 12e-3

// remedy is what to do about a rig that does badly: a slow way to the board, or a
// computer that is busy now and then.
func remedy(h rig.Health) string {
	if h.LoopDelay() > slowWire*protocol.TickHz {
		return "nearly every answer came late, as over a USB chip that holds bytes back: set its latency timer to 1 ms " +
			"(an FTDI chip under Windows: Device Manager, the port, advanced), plug the board in without a hub"
	}
	return "close other programs, use a good cable"
}

func readLink(sheet *measure.Sheet, session *rig.Session, h rig.Health) {
	if h.Delays == 0 {
		sheet.NotRun("loop_delay", "no drive was applied")
		sheet.NotRun("loop_delay_spread", "no drive was applied")
	} else {
		ms := 1e3 / float64(session.Identity.TickHz)
		sheet.Set("loop_delay", ms*h.LoopDelay())
		sheet.Set("loop_delay_spread", ms*h.LoopDelaySpread())
	}
	sheet.Set("late_frames", float64(h.LateFrames))
	sheet.Set("frames_lost", float64(h.Lost()))
	if worst := h.WorstInterval / rig.WorstIntervalLimit; worst > 0.5 && worst <= 1 {
		sheet.Warn("a pickup pulse came %.2g %% of its spacing wrong, nearly as much as may be; %s", 100*h.WorstInterval, remedy(h))
	}
	if h.LateEdges > 0 {
		sheet.Warn("the board made %d edges late", h.LateEdges)
	}
	if h.LostCaptures > 0 {
		sheet.Warn("the board lost %d throttle pulses", h.LostCaptures)
	}
	if fast, uncertainty, ok := session.ClockError.Estimate(); ok {
		sheet.Warn("the board's clock is %+.3f %% off the computer's (± %.3f %%)", 100*fast, 100*uncertainty)
	}
}
