package throttle

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/machine/unit"
)

// sending is the medium machine with a transmitter whose 0 and 100 % are the ends of the
// servo's way; its stand-in engages at 30 % and disengages at 26 %.
func sending(t *testing.T, hold, cut unit.Share, governed ...unit.Share) *machine.Machine {
	m := proceduretest.Medium(t)
	m.Transmitter = &machine.Transmitter{
		Low: m.Servo.ClosedPulse, High: m.Servo.OpenPulse, Hold: &hold, EngineCut: &cut,
		Modes: machine.FlightModes{
			{Name: "start", Curve: []unit.Share{0, 0.5}, Flown: machine.Ungoverned},
			{Name: "flight", Curve: governed, Flown: machine.Governed},
		},
	}
	return m
}

func TestThrottleJudgesTheTransmitter(t *testing.T) {
	const disengages, never, autorotation, stops, runs = "it may disengage in flight", "it would not engage", "in an autorotation", "the engine would stop", "may go on running"
	all := []string{disengages, never, autorotation, stops, runs}
	for name, c := range map[string]struct {
		m    *machine.Machine
		says string // nothing is a pass
	}{
		"right":                      {sending(t, 0.15, -0.05, 0.6, 0.7, 1), ""},
		"nearly too low":             {sending(t, 0.15, -0.05, 0.30, 0.7, 1), ""},
		"dips":                       {sending(t, 0.15, -0.05, 1, 0.27, 1), disengages},
		"low":                        {sending(t, 0.15, -0.05, 0, 0.3), never},
		"hold governs":               {sending(t, 0.25, -0.05, 0.6, 1), autorotation},
		"hold is the closed end":     {sending(t, 0, -0.05, 0.6, 1), stops},
		"cut leaves the barrel open": {sending(t, 0.22, 0.2, 0.6, 1), runs},
	} {
		r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, c.m, nil))
		require.NoError(t, err)
		words := proceduretest.Words(r)
		for _, sentence := range all {
			if sentence == c.says {
				require.Contains(t, words, sentence, name)
			} else {
				require.NotContains(t, words, sentence, name)
			}
		}
		if c.says == "" {
			require.Equal(t, measure.Pass, r.Result.Outcome, "%s: %v", name, proceduretest.Failed(r))
		} else {
			require.Equal(t, measure.Fail, r.Result.Outcome, name)
		}
	}
}

// Without thresholds the curves are not judged, and without the section nothing is
// asked.
func TestThrottleWithoutThresholds(t *testing.T) {
	m := sending(t, 0.15, -0.05, 0.1, 0.2)
	m.StandIn = proceduretest.Quirky(t, "other_polarity").StandIn
	r, err := (&Options{}).Run(context.Background(), proceduretest.Bench(t, m, nil))
	require.NoError(t, err)
	require.Equal(t, measure.NotRun, r.Result.Find("curve_margin_flight").Outcome)
	require.NotContains(t, proceduretest.Words(r), "would not engage")
	require.Empty(t, transmitterMeasures(proceduretest.Medium(t)))
}

// Frames are judged by the servo's kind: 71 a second are too many for an analogue
// one, and none for one of which nothing is known.
func TestThrottleJudgesFramesByTheServo(t *testing.T) {
	for kind, said := range map[machine.ServoKind]bool{"": false, machine.Digital: false, machine.Analogue: true} {
		m := proceduretest.Medium(t)
		m.Servo.Kind = kind
		r, err := (&Options{}).Run(context.Background(), &execution.Bench{Machine: m, Where: "virtual", Board: proceduretest.Bench(t, m, nil).Board})
		require.NoError(t, err)
		if said {
			require.Equal(t, []string{"output_frame_rate"}, proceduretest.Failed(r))
			require.Contains(t, proceduretest.Words(r), "Do not connect that servo")
		} else {
			require.NotContains(t, proceduretest.Words(r), "Do not connect that servo")
		}
	}
}
