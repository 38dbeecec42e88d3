package selftest

import (
	"math"

	"govrig/rig"
	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/measure/train"
	"govrig/rig/runlog"
	"govrig/sim"
	"govrig/sim/turntable"
)

// selfTest is a self test under way: what was heard of each output at each
// input.
type selfTest struct {
	*execution.Test
	heard [outputs][inputs]hearing
}

func (s *selfTest) run() error {
	for _, in := range []input{probeInput, throttleInput} {
		if err := s.listen(in, in.settings(), pickupOutput, stickOutput, selectOutput); err != nil {
			return err
		}
	}
	ok := s.wires()
	s.readPickup(s.heard[pickupOutput][probeInput])
	s.readStick(s.heard[stickOutput][throttleInput])
	if err := s.low(); err != nil {
		return err
	}
	s.readClock()
	if ok {
		s.Next("Take both jumpers out.")
	}
	return nil
}

// listen sets the board up to time one input, and plays outputs one after the
// other.
func (s *selfTest) listen(in input, settings rig.Settings, played ...output) error {
	if err := s.Configure(settings); err != nil {
		return err
	}
	s.Record.Event(runlog.EventPlant, runlog.Plant{Kind: "turntable"})
	s.Use(func(step float64) sim.Plant { return turntable.New(step) })
	for _, out := range played {
		part, _, err := s.Play(out.phase(in))
		if err != nil {
			return err
		}
		s.heard[out][in] = hear(out.wanted(&part), part.Pulses)
	}
	return nil
}

// low plays low pickup pulses on a high line, where high ones were heard.
func (s *selfTest) low() error {
	if !s.heard[pickupOutput][probeInput].right() {
		s.Sheet.NotRun("low_pulses_missing", noPulses)
		return nil
	}
	settings := probeInput.settings()
	settings.PickupLow, settings.CaptureLow = true, true
	if err := s.listen(probeInput, settings, pickupOutput); err != nil {
		return err
	}
	s.Sheet.Set("low_pulses_missing", s.heard[pickupOutput][probeInput].missing())
	return nil
}

func (s *selfTest) readClock() {
	fast, uncertainty, ok := s.Session.ClockError.Estimate()
	if !ok {
		s.Sheet.NotRun("clock_error", "there is no real time to hold this board's clock against, or too little of it to know")
		return
	}
	s.Sheet.Take("clock_error", measure.Read(100*fast).With("known to ± %.3f %%", 100*uncertainty))
}

const noPulses = "its pulses did not come back as they were played"

const (
	micro = 1e6
	nano  = 1e9
)

func (s *selfTest) readPickup(h hearing) {
	s.Sheet.Set("pickup_pulses_missing", h.missing())
	s.spread("pickup_delay", h, h.Delay.Mean*micro)
	s.spread("pickup_jitter", h, h.Delay.Range()*nano)
	s.spread("pickup_width_error", h, h.Width.Worst()*nano)
	if h.right() {
		s.Sheet.Set("pickup_pulses_stray", float64(h.Stray))
	} else {
		s.Sheet.NotRun("pickup_pulses_stray", noPulses)
	}
}

func (s *selfTest) readStick(h hearing) {
	s.Sheet.Set("stick_pulses_missing", h.missing())
	s.spread("stick_frame_error", h, h.Delay.Worst()*nano)
	s.spread("stick_width_error", h, h.Width.Worst()*nano)
}

// spread takes a measure of pulses that were heard, to three decimals: the rest
// is rounding of ticks to seconds.
func (s *selfTest) spread(name string, h hearing, value float64) {
	if h.right() {
		s.Sheet.Set(name, math.Round(1e3*value)/1e3)
	} else {
		s.Sheet.NotRun(name, noPulses)
	}
}

// twoTicks is what the edges of a real board may be off: the input is looked at
// once a tick, and each edge may fall on either side.
const twoTicks = 2 * 62.5 // ns

// selfTestMeasures declares the measures; timed is a board that runs in real time.
func selfTestMeasures(timed bool) []measure.Declaration {
	clock := measure.Declaration{
		Name: "clock_error", Unit: "%", Limit: measure.Between(-1.1, 1.1),
		Meaning:    "How fast the board's clock runs against the computer's; procedures take it out of what they measure.",
		Convention: "limit: worst case of a ceramic resonator (0.5 % new, 0.3 % warm, 0.3 % old; common practice, no source)",
	}
	if !timed {
		clock.Limit, clock.Optional = nil, true
	}
	missing := func(name, meaning string) measure.Declaration {
		return measure.Declaration{Name: name, Unit: "%", Limit: measure.AtMost(0), Meaning: meaning}
	}
	return []measure.Declaration{
		missing("pickup_pulses_missing", "How many pulses of the pickup line did not come back at the probe."),
		{Name: "pickup_pulses_stray", Unit: "1", Limit: measure.AtMost(0), Meaning: "How many came that nobody had played."},
		{
			Name: "pickup_delay", Unit: "µs", Limit: measure.Between(-0.125, 5),
			Meaning: "How late the probe sees an edge; a comparator takes a little time. It is the same for every edge and so does no harm.",
		},
		{
			Name: "pickup_jitter", Unit: "ns", Limit: measure.AtMost(twoTicks), Convention: "latest less earliest; limit: two ticks",
			Meaning: "How much that delay changes from edge to edge.",
		},
		{
			Name: "pickup_width_error", Unit: "ns", Limit: measure.Between(-1000, 1000),
			Meaning: "How much wider the probe sees a pulse than it was played, at worst.",
		},
		missing("low_pulses_missing", "The same with the pickup line upside down: low pulses on a high line."),
		missing("stick_pulses_missing", "How many pulses of the stick line did not come back on the throttle line."),
		{
			Name: "stick_frame_error", Unit: "ns", Limit: measure.Between(-twoTicks, twoTicks), Convention: "against frames of 22 ms from the first pulse on; limit: two ticks",
			Meaning: "How far a stick pulse is from its place, at worst.",
		},
		{
			Name: "stick_width_error", Unit: "ns", Limit: measure.Between(-twoTicks, twoTicks), Convention: "limit: two ticks",
			Meaning: "How much wider the throttle line sees a stick pulse than it was played, at worst.",
		},
		clock,
	}
}

// hearing is what was heard of an output at an input.
type hearing struct {
	train.Match
	wanted, got int
	// upside: the pulses came upside down.
	upside bool
}

// hear compares what came with what was played, first as it is, then upside
// down.
func hear(wanted, got []execution.Pulse) hearing {
	h := hearing{train.Compare(wanted, got, matchWithin), len(wanted), len(got), false}
	if h.clear() {
		return h
	}
	turned := hearing{train.Compare(wanted, train.Rests(got), matchWithin), len(wanted), len(got), true}
	if turned.clear() {
		return turned
	}
	return h
}

// matchWithin is how far an edge may be off and still be that edge, s.
const matchWithin = 50e-6

// clear reports whether the output can be heard at the input: a wire is there.
func (h hearing) clear() bool { return h.wanted > 0 && 10*h.Missing < h.wanted }

// right reports whether it is heard the right way up.
func (h hearing) right() bool { return h.clear() && !h.upside }

// missing is the share of pulses that did not come as they were played, %.
func (h hearing) missing() float64 {
	if h.upside {
		return 100
	}
	return 100 * float64(h.Missing) / float64(max(1, h.wanted))
}
