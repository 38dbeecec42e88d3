package pickup

import (
	"fmt"

	"govrig/rig/measure"
	"govrig/rig/measure/level"
	"govrig/sim/machine"
)

// What a logic input of 3.3 or 5 V takes for surely low and surely high, V: the
// limits of JEDEC JESD8C.01 for 3.3 V logic, the same as TTL's (from memory).
const (
	surelyLow  = 0.8
	surelyHigh = 2.0
)

// probeReference is the voltage on the line at which the board's comparator
// switches, V, and its tolerance as a share (data sheet of the ATmega328P, bandgap
// reference, 1.0 to 1.2 V, from memory).
const (
	probeReference      = 2 * 1.1
	referenceUncertain  = 0.1
	levelMeasureMeaning = "A governor may miss pulses, or count noise, when it is near its threshold."
)

// levelMeasures declares the levels of the line.
func levelMeasures(m *machine.Machine) []measure.Declaration {
	low, high := measure.AtMost(surelyLow), measure.AtLeast(surelyHigh)
	idle, active := high, low
	if m.Pickup.Active == machine.High {
		idle, active = low, high
	}
	const convention = "mode of the upper or lower half of what the converter saw; USB taken as 5 V, 5 % more or less; limit: JESD8C.01, from memory"
	return []measure.Declaration{
		{
			Name: "idle_level", Unit: "V", Optional: true, Limit: idle, Convention: convention,
			Meaning: "Voltage of the line without a magnet, by the machine file's polarity. " + levelMeasureMeaning,
		},
		{
			Name: "active_level", Unit: "V", Optional: true, Limit: active, Convention: convention,
			Meaning: "Voltage of the line while a magnet is felt, by the machine file's polarity. " + levelMeasureMeaning,
		},
	}
}

// levels are those of the line, V.
type levels struct {
	low, high float64
	switches  bool
	why       string // they are not known
}

func (p *probing) readLevels() levels {
	var l levels
	trace := &p.Run.Trace
	if p.o.Coil {
		l.why = "a coil's line has no levels"
		return l
	}
	if len(trace.Lowest) == 0 {
		l.why = "the board told no levels"
		return l
	}
	l.low, l.high, l.switches = level.States(trace.Lowest, trace.Highest)
	seen := len(p.pulses) > 0
	if seen && (l.low > probeReference*(1+referenceUncertain) || l.high < probeReference*(1-referenceUncertain)) {
		l.why = "pulses come at D7, but not at A0: join the two as the wiring notes show"
	}
	return l
}

// takeLevels takes the measures of the levels and says what they mean.
func (p *probing) takeLevels() {
	l := p.readLevels()
	idle, active := l.high, l.low
	if p.Bench.Machine.Pickup.Active == machine.High {
		idle, active = active, idle
	}
	const one = "the line did not switch"
	rests := p.level == (p.Bench.Machine.Pickup.Active == machine.Low)
	switch {
	case l.why != "":
		p.Sheet.NotRun("idle_level", l.why)
		p.Sheet.NotRun("active_level", l.why)
		return
	case l.switches:
		p.Sheet.Set("idle_level", idle)
		p.Sheet.Set("active_level", active)
	case rests:
		p.Sheet.Set("idle_level", idle)
		p.Sheet.NotRun("active_level", one)
	default:
		p.Sheet.NotRun("idle_level", one)
		p.Sheet.Set("active_level", active)
	}
	for _, sentence := range l.words() {
		p.Found("%s", sentence)
	}
}

// words says what the levels mean.
func (l levels) words() (all []string) {
	if !l.switches {
		all = append(all, fmt.Sprintf("The line stands at %.1f V all the time.", l.low))
		if l.low > surelyLow && l.low < surelyHigh {
			all = append(all, "That is neither low nor high: the line floats. Its pull-up is missing, or the sensor's ground is off.")
		}
		return all
	}
	all = append(all, fmt.Sprintf("The line goes between %.1f V and %.1f V (USB taken as 5 V).", l.low, l.high))
	if l.high < surelyHigh {
		all = append(all, fmt.Sprintf("Its high level stays below the %.1f V that a logic input needs: the pull-up is missing, too weak, "+
			"or on the wrong supply. It belongs on the supply that the governor's pickup input has.", surelyHigh))
	}
	if l.low > surelyLow {
		all = append(all, fmt.Sprintf("Its low level does not come down to the %.1f V that a logic input needs: the pull-up is too strong "+
			"for the sensor, or the sensor's ground wire is bad.", surelyLow))
	}
	return all
}
