package throttle

import (
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/execution"
	"govrig/rig/measure"
	"govrig/rig/procedure/proceduretest"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/gallery"
)

// Sentences, by a part of them that is theirs alone.
const (
	saysJitter  = "The throttle frames jitter"
	saysMissing = "% are missing"
	saysSlow    = "slow frames"
	saysCoarse  = "That is coarse"
	saysNone    = "No arming threshold"
	saysSame    = "there is no hysteresis"
	saysWhole   = "follows the stick over its whole way"
)

var sentences = []string{saysJitter, saysMissing, saysSlow, saysCoarse, saysNone, saysSame, saysWhole}

var expected = map[gallery.Kind]struct {
	outcome measure.Outcome
	says    []string // of sentences; the others are not said
}{
	gallery.Healthy:       {outcome: measure.Pass},
	gallery.SelectDead:    {outcome: measure.Pass},
	gallery.ArmsHigh:      {outcome: measure.Pass},
	gallery.Droops:        {outcome: measure.Pass},
	gallery.CountsHalf:    {outcome: measure.Pass},
	gallery.Hunts:         {outcome: measure.Pass},
	gallery.HoldsOnLoss:   {outcome: measure.Pass},
	gallery.OpensOnLoss:   {outcome: measure.Pass},
	gallery.SlowSpool:     {outcome: measure.Pass},
	gallery.Jitters:       {measure.Fail, []string{saysJitter, saysMissing}},
	gallery.SlowFrames:    {measure.Fail, []string{saysSlow}},
	gallery.DeadBand:      {measure.Fail, []string{saysCoarse}},
	gallery.OtherPolarity: {measure.NotRun, []string{saysNone}},
	gallery.NotGoverning:  {measure.NotRun, []string{saysNone, saysWhole}},
}

// trial is a governor on a machine.
type trial struct {
	m      *machine.Machine
	member gallery.Member
}

// trials are the gallery on the medium machine, and some drawn by lot on other machines:
// healthy ones, and some of the kinds whose line is hard to read.
func trials(t *testing.T) (all []trial) {
	m := proceduretest.Medium(t)
	for _, member := range gallery.Members() {
		if _, ok := expected[member.Kind]; ok {
			all = append(all, trial{m, member})
		}
	}
	draw := func(s *gallery.Specimen, err error) {
		require.NoError(t, err)
		all = append(all, trial{s.Machine, s.Member})
	}
	for seed := range uint64(3) {
		draw(gallery.NewHealthy(11+seed, board.TickHz))
		for _, kind := range []gallery.Kind{gallery.DeadBand, gallery.Droops, gallery.ArmsHigh} {
			draw(gallery.NewSick(kind, seed, board.TickHz))
		}
	}
	return all
}

// What must be said of governors of different structure is said, and nothing else;
// thresholds and steps are theirs.
func TestThrottleOfTheGallery(t *testing.T) {
	for _, x := range trials(t) {
		t.Run(x.member.Name, func(t *testing.T) {
			t.Parallel()
			g := x.member.New(gallery.WiringOf(x.m, board.TickHz), 0)
			b := &execution.Bench{Machine: x.m, Where: "virtual", Board: board.New(board.Options{Governor: g}), StandIn: g}
			r, err := (&Options{}).Run(context.Background(), b)
			require.NoError(t, err)
			e, words := expected[x.member.Kind], proceduretest.Words(r)
			require.Equal(t, e.outcome, r.Result.Outcome, "%s\n%v", words, proceduretest.Failed(r))
			for _, sentence := range sentences {
				require.Equal(t, slices.Contains(e.says, sentence), strings.Contains(words, sentence), "%q in %s", sentence, words)
			}
			require.Less(t, proceduretest.Lasted(r), 90.0)
			if e.outcome != measure.NotRun {
				truth := g.Truth(x.member.Kind, 0, float64(x.m.Servo.ClosedPulse))
				require.InDelta(t, 100*truth.EngagesAt, proceduretest.Value(t, r, "arming_threshold"), 0.2)
				require.InDelta(t, 100*truth.DisengagesAt, proceduretest.Value(t, r, "release_threshold"), 0.2)
				require.InDelta(t, 1e6*truth.OutputStep, proceduretest.Value(t, r, "output_step"), 0.1)
			}
		})
	}
}
