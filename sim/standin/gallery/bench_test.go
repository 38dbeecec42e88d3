package gallery

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/standin/governor"
)

const (
	tickRate = 16e6
	rpm      = math.Pi / 30
	microsec = tickRate / 1e6
)

func medium(t testing.TB) *machine.Machine {
	m, err := machine.Load("../../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	return m
}

// lead plays synthetic lines to a governor and keeps its throttle pulses.
type lead struct {
	g       *Governor
	w       Wiring
	tick    int64                         // up to which all has been played
	stick   float64                       // share; NaN plays no pulses
	sel     float64                       // pulse width, s
	speed   func(seconds float64) float64 // rad/s; 0 plays no pulses
	width   float64                       // of a pickup pulse, s
	turned  float64                       // pulses since the last one
	servoAt int64
	events  []event
	rises   []int64
	widths  []int64
}

type event struct {
	line governor.Line
	tick int64
	high bool
}

func newLead(m Member, w Wiring) *lead {
	return &lead{
		g: m.New(w, 0), w: w, sel: (w.SelectLow + w.SelectHigh) / 2, width: 500e-6,
		speed: func(float64) float64 { return 0 },
	}
}

// play goes on for some seconds, in steps of 50 µs between which edges are
// placed to the tick.
func (l *lead) play(seconds float64) {
	const step = 800
	for end := l.tick + int64(seconds*tickRate); l.tick < end; l.tick += step {
		l.servos(l.tick)
		pulses := l.speed(float64(l.tick)/tickRate) / (2 * math.Pi) * float64(l.w.PulsesPerTurn) * step / tickRate
		if l.turned+pulses >= 1 {
			at := l.tick + int64(math.Round((1-l.turned)/pulses*step))
			l.add(governor.Pickup, at, !l.w.PickupLow)
			l.add(governor.Pickup, at+int64(l.width*tickRate), l.w.PickupLow)
			l.turned--
		}
		l.turned += pulses
		l.pass(l.tick + step)
	}
}

func (l *lead) servos(tick int64) {
	if tick < l.servoAt {
		return
	}
	l.servoAt = tick + int64(0.02*tickRate)
	for line, width := range map[governor.Line]float64{governor.Stick: l.w.Closed + l.stick*(l.w.Open-l.w.Closed), governor.Select: l.sel} {
		if !math.IsNaN(width) {
			l.add(line, tick, true)
			l.add(line, tick+int64(math.Round(width*tickRate)), false)
		}
	}
}

func (l *lead) add(line governor.Line, tick int64, high bool) {
	at := len(l.events)
	for at > 0 && l.events[at-1].tick > tick {
		at--
	}
	l.events = append(l.events, event{})
	copy(l.events[at+1:], l.events[at:])
	l.events[at] = event{line, tick, high}
}

// pass tells the governor all edges before a tick, and lets it send its frames.
func (l *lead) pass(tick int64) {
	for {
		next := l.g.NextFrame()
		switch {
		case len(l.events) > 0 && l.events[0].tick < tick && l.events[0].tick <= next:
			e := l.events[0]
			l.events = l.events[1:]
			l.g.Edge(e.line, e.tick, e.high)
		case next < tick:
			rise, width := l.g.Frame()
			l.rises, l.widths = append(l.rises, rise), append(l.widths, width)
		default:
			return
		}
	}
}

// share is the newest throttle pulse as a share of the travel.
func (l *lead) share() float64 {
	for i := len(l.widths) - 1; i >= 0; i-- {
		if l.widths[i] > 0 {
			return (float64(l.widths[i])/tickRate - l.w.Closed) / (l.w.Open - l.w.Closed)
		}
	}
	return math.NaN()
}

func (l *lead) forget() { l.rises, l.widths = nil, nil }
