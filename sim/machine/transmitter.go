package machine

import (
	"fmt"

	"govrig/sim/unit"
)

// Transmitter is the section transmitter: what throttle stick, hold and engine
// cut send to the governor's stick input.
type Transmitter struct {
	Low   unit.Time   `yaml:"pulse_at_0_percent" low:"500 µs" high:"2500 µs" example:"1100 µs" about:"Pulse width at the governor's stick input when the transmitter sends 0 %."`
	High  unit.Time   `yaml:"pulse_at_100_percent" low:"500 µs" high:"2500 µs" example:"1900 µs" about:"Pulse width when it sends 100 %; may be the shorter of the two."`
	Modes FlightModes `yaml:"modes" example:"normal" about:"The flight modes by name, each with its throttle curve."`
	// Hold and EngineCut are nil when the file does not give them.
	Hold      *unit.Share `yaml:"hold" default:"" low:"-20 %" high:"50 %" example:"10 %" about:"What is sent in throttle hold, for an autorotation: the engine idles and the governor lets go."`
	EngineCut *unit.Share `yaml:"engine_cut" default:"" low:"-50 %" high:"20 %" example:"-10 %" about:"What is sent to shut the engine down; most often below 0 %."`
}

// FlightMode is an entry of the map modes.
type FlightMode struct {
	Name string `yaml:"-"`
	// Curve has its points spaced evenly over the stick, bottom to top.
	Curve []unit.Share `yaml:"curve" low:"0 %" high:"100 %" example:"[0 %, 40 %, 60 %, 80 %, 100 %]" about:"Throttle curve: what is sent at points spaced evenly over the stick, bottom first; 2 to 17 of them."`
	Flown Flown        `yaml:"flown" default:"governed" one:"governed,ungoverned" about:"Whether the governor is to hold the speed in this mode, over the whole stick."`
}

// Flown is whether a flight mode is flown on the governor.
type Flown string

// How a mode is flown.
const (
	Governed   Flown = "governed"
	Ungoverned Flown = "ungoverned"
)

// FlightModes are in the order of the file.
type FlightModes []FlightMode

func (FlightModes) ByName() {}

// Pulse is the pulse width at the governor's stick input, s, when the
// transmitter sends a share: 0 is 0 %, 1 is 100 %.
func (t *Transmitter) Pulse(share unit.Share) float64 {
	return float64(t.Low) + float64(share)*float64(t.High-t.Low)
}

const mostCurvePoints = 17

func (k *checker) checkTransmitter(t *Transmitter) {
	if t == nil {
		return
	}
	k.apart("transmitter.pulse_at_100_percent", t.High, t.Low, "transmitter.pulse_at_0_percent")
	for _, mode := range t.Modes {
		if n := len(mode.Curve); n < 2 || n > mostCurvePoints {
			k.Fail("transmitter.modes."+mode.Name+".curve", fmt.Sprintf("a curve of %d", n), fmt.Sprintf("give 2 to %d points", mostCurvePoints))
		}
	}
	if t.Hold != nil && t.EngineCut != nil && *t.EngineCut > *t.Hold {
		k.Fail("transmitter.engine_cut", "it is above transmitter.hold", "the cut shuts an engine that hold keeps idling")
	}
}
