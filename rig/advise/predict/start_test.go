package predict

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// withGain is a machine with a governor of so many times the gain of its stand-in.
func withGain(t *testing.T, m *machine.Machine, times float64) *machine.Machine {
	other := m.StandInModel()
	other.Name = "the same, turned"
	other.Law.Gain = model.Known[unit.Gain](times*float64(m.StandIn.Gain), 0, "")
	m.Other = other
	return m
}

// The gain to start from does not depend on the gain at which the governor was
// measured, where it has to be turned down; it keeps the margins that an independent
// cell has at that gain; and one half octave more is still kept.
func TestStart(t *testing.T) {
	as, err := NewStart(withGain(t, load(t, "medium-15cc"), 1))
	require.NoError(t, err)
	require.True(t, as.Holds, as.Why)
	require.Equal(t, 1.0, as.Factor)
	require.Len(t, as.Steps, 3)

	hot, err := NewStart(withGain(t, load(t, "medium-15cc"), 8))
	require.NoError(t, err)
	require.True(t, hot.Holds, hot.Why)
	require.Less(t, hot.Factor, 1.0)
	for _, s := range hot.Steps {
		require.GreaterOrEqual(t, *s.GainMargin, 2.0)
		require.GreaterOrEqual(t, *s.PhaseMargin, 45.0)
	}
	var text bytes.Buffer
	require.NoError(t, hot.WriteText(&text))
	require.Contains(t, text.String(), "It can hold this machine. Start with 0.")
}

// One that no gain makes stable cannot hold the machine: two seconds of dead time.
func TestStartWithoutHope(t *testing.T) {
	m := withGain(t, load(t, "small-6cc"), 1)
	m.Other.Measuring.DeadTime = model.Known[unit.Time](2, 0, "")
	s, err := NewStart(m)
	require.NoError(t, err)
	require.False(t, s.Holds)
	require.Zero(t, s.Factor)
	var text bytes.Buffer
	require.NoError(t, s.WriteText(&text))
	require.Contains(t, text.String(), "cannot hold it")
}

// Where the proof failed, or the law is not known, nothing is said.
func TestStartCannotTell(t *testing.T) {
	m := withGain(t, load(t, "medium-15cc"), 1)
	m.Other.Fit.LoadStep = "differs"
	s, err := NewStart(m)
	require.NoError(t, err)
	require.NotEmpty(t, s.CannotTell)
	require.False(t, s.Holds)
	m.Other.Law.Gain = nil
	s, err = NewStart(m)
	require.NoError(t, err)
	var text bytes.Buffer
	require.NoError(t, s.WriteText(&text))
	require.Contains(t, text.String(), "Cannot tell whether it can hold this machine: its law is not known.")
}

// A load step that follows a course of the collective is the load step, where the
// course is that of it.
func TestFollow(t *testing.T) {
	m := load(t, "medium-15cc")
	step, err := StepOf(m, m.Speeds[0], 0)
	require.NoError(t, err)
	tr, err := trialOf(m, m.Speeds[0])
	require.NoError(t, err)
	collective := make([]float64, step.Head.Len())
	for i := range collective {
		collective[i] = tr.collective(i*perSample - int(lead/stepTime))
	}
	followed, err := Follow(m, m.Speeds[0], collective)
	require.NoError(t, err)
	for i := range followed.Y {
		require.InEpsilon(t, step.Head.Y[i], followed.Y[i], 1e-3)
	}
}
