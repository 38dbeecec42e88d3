package accept

import (
	"context"
	"fmt"
	"slices"
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
	saysThrough  = "passes the stick through"
	saysPolarity = "other polarity only"
	saysNarrow   = "narrow ones"
	saysDouble   = "counts 2 pulses for each one"
	saysHalf     = "counts one pulse for two"
	saysOne      = "counts one pulse for each that it is given"
	saysSelect   = "select line has no effect"
	saysFast     = "does not hear the pickup above"
	saysSensor   = "its supply"
	saysHigh     = "With the stick at 60 % it does nothing"
)

var sentences = []string{saysThrough, saysPolarity, saysNarrow, saysDouble, saysHalf, saysOne, saysSelect, saysFast, saysSensor, saysHigh}

// trial is a governor on a machine, and what must come of it.
type trial struct {
	name    string
	m       *machine.Machine
	member  gallery.Member
	outcome measure.Outcome
	says    []string // of sentences; the others are not said
}

var expected = map[gallery.Kind]trial{
	gallery.Healthy:       {outcome: measure.Pass, says: []string{saysOne}},
	gallery.NotGoverning:  {outcome: measure.NotRun, says: []string{saysThrough}},
	gallery.OtherPolarity: {outcome: measure.Fail, says: []string{saysPolarity, saysOne}},
	gallery.WideOnly:      {outcome: measure.Fail, says: []string{saysNarrow, saysOne}},
	gallery.CountsDouble:  {outcome: measure.Fail, says: []string{saysDouble}},
	gallery.CountsHalf:    {outcome: measure.Fail, says: []string{saysHalf}},
	gallery.SelectDead:    {outcome: measure.Pass, says: []string{saysOne, saysSelect}},
	gallery.ArmsHigh:      {outcome: measure.Pass, says: []string{saysOne, saysHigh}},
	gallery.Jitters:       {outcome: measure.Pass, says: []string{saysOne}},
	gallery.OpensOnLoss:   {outcome: measure.Pass, says: []string{saysOne}},
	gallery.HoldsOnLoss:   {outcome: measure.Pass, says: []string{saysOne}},
	gallery.Droops:        {outcome: measure.Pass, says: []string{saysOne}},
	gallery.SlowFrames:    {outcome: measure.Pass, says: []string{saysOne}},
}

// trials are the gallery on the medium machine, and some drawn by lot.
func trials(t *testing.T) (all []trial) {
	m := proceduretest.Medium(t)
	for _, member := range gallery.Members() {
		if e, ok := expected[member.Kind]; ok {
			all = append(all, trial{member.Name, m, member, e.outcome, e.says})
		}
	}
	well := func(s *gallery.Specimen, err error) {
		require.NoError(t, err)
		all = append(all, trial{s.Member.Name, s.Machine, s.Member, measure.Pass, []string{saysOne}})
	}
	for _, seed := range []uint64{4, 8, 14, 2} {
		well(gallery.NewHealthy(seed, board.TickHz))
	}
	well(gallery.NewSick(gallery.HoldsOnLoss, 0, board.TickHz)) // silence is hard to tell
	return all
}

// What must be said of governors of different structure is said, and nothing else.
func TestAcceptOfTheGallery(t *testing.T) {
	for _, x := range trials(t) {
		t.Run(x.name, func(t *testing.T) {
			t.Parallel()
			r := gallerySaid(t, x.m, x.member)
			require.Equal(t, x.outcome, r.Result.Outcome, "%s\n%v", proceduretest.Words(r), proceduretest.Failed(r))
			for _, sentence := range sentences {
				words := fmt.Sprint(r.Found, r.Next)
				if slices.Contains(x.says, sentence) {
					require.Contains(t, words, sentence)
				} else {
					require.NotContains(t, words, sentence)
				}
			}
			require.Less(t, proceduretest.Lasted(r), 165.0)
		})
	}
}

func gallerySaid(t *testing.T, m *machine.Machine, member gallery.Member) *execution.Run {
	g := member.New(gallery.WiringOf(m, board.TickHz), 0)
	b := &execution.Bench{Machine: m, Where: "virtual", Board: board.New(board.Options{Governor: g}), StandIn: g}
	r, err := (&Options{}).Run(context.Background(), b)
	require.NoError(t, err)
	return r
}

// With up to the most pulses a second that the board plays, up to 2,000, the open
// loop is as true and as well judged as with few; what is narrower than the
// board's pulses is said to be the board's limit.
func TestAcceptOfManyPulses(t *testing.T) {
	for _, pulses := range []int{2, 4, 6} {
		m := proceduretest.Medium(t)
		m.Governor.PulsesPerTurn = pulses
		r := gallerySaid(t, m, gallery.Members()[0])
		for _, name := range []string{"own_pulses_heard", "counts_per_pulse", "highest_speed_heard"} {
			require.Equal(t, measure.Pass, r.Result.Find(name).Outcome, "%d: %s: %s", pulses, name, proceduretest.Words(r))
		}
		require.NotContains(t, proceduretest.Words(r), saysSensor)
	}
}

func TestAcceptSaysWhatTheBoardCannotPlay(t *testing.T) {
	thin := func(active float64) *acceptTest {
		a := newAcceptTest(proceduretest.Medium(t), machine.SpeedSetting{})
		a.active = active
		return a
	}
	// at 18 000 rpm a turn takes 3.33 ms, and 100 µs are 3 % of it
	for active, said := range map[float64]int{0.025: 1, 0.035: 0} {
		a := thin(active)
		a.t = &execution.Test{Run: &execution.Run{}, Bench: &execution.Bench{}}
		a.sayNarrow()
		require.Len(t, a.t.Run.Found, said)
	}
}
