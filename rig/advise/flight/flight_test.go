package flight

import (
	"math"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/advise/predict"
	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/unit"
)

func load(t *testing.T, file string) *machine.Machine {
	m, err := machine.Load("../../../testdata/machines/" + file + ".yaml")
	require.NoError(t, err)
	return m
}

// answer is the load step of a machine of which the truth is a change from its file.
func answer(t *testing.T, m *machine.Machine, truth change, noise float64, rng *rand.Rand) Side {
	s := m.Speeds[0]
	p := m.HeliParams()
	p.Rotor.Inertia *= truth.inertia
	p.Engine.PeakPressure *= truth.engine
	other := *m
	other.LoadStep.CollectiveHigh = m.LoadStep.CollectiveLow + unit.Angle(float64(m.LoadStep.CollectiveHigh-m.LoadStep.CollectiveLow)*truth.load)
	y, err := predict.Play(&other, p, s)
	require.NoError(t, err)
	for i := range y.Y {
		y.Y[i] += noise * y.Y[i] * rng.NormFloat64()
	}
	return Read(measure.Series(y), predict.LoadOn, s)
}

// would is the value of a key that a sentence gives, or 0.
func would(says []string, given, key string) float64 {
	for _, s := range says {
		if !strings.Contains(s, given) {
			continue
		}
		if part := regexp.MustCompile(key + ` ([\d.]+)`).FindStringSubmatch(s); part != nil {
			v, _ := strconv.ParseFloat(part[1], 64)
			return v
		}
	}
	return 0
}

// A flight of a machine with another load or inertia than its file, drawn by lot:
// the values that are told are the truth of the simulation.
func TestValuesThatAgree(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 11))
	for _, file := range []string{"medium-15cc", "small-6cc"} {
		m := load(t, file)
		bench := answer(t, m, change{1, 1, 1}, 0, rng)
		for range 4 {
			truth := change{load: 0.65 + 0.4*rng.Float64(), inertia: 1.3 + 0.4*rng.Float64(), engine: 1}
			c := Compare(m, m.Speeds[0], bench, answer(t, m, truth, 0, rng))
			low, high := float64(m.LoadStep.CollectiveLow), float64(m.LoadStep.CollectiveHigh)
			told := would(c.Says, "engine is as in the file", "collective_high")
			if told == 0 { // as in the file
				told = high * degrees
			}
			require.InEpsilon(t, (low+(high-low)*truth.load)*degrees, told, 0.06, "%v %s", truth, c.Says)
			before, after := m.HeliParams().Rotor.Inertia, m.HeliParams().Rotor.Inertia*truth.inertia
			blades := float64(m.Main.BladeMass) * float64(m.Main.Radius) * float64(m.Main.Radius) * float64(m.Main.Blades) / 3
			require.InEpsilon(t, 1e3*float64(m.Main.BladeMass)*(1+(after-before)/blades), would(c.Says, "engine is as in the file", "blade_mass"), 0.1, "%v %s", truth, c.Says)
		}
	}
}

func TestWhatTheDifferenceSays(t *testing.T) {
	m := load(t, "medium-15cc")
	rng := rand.New(rand.NewPCG(1, 2))
	bench := answer(t, m, change{1, 1, 1}, 0, rng)
	for name, c := range map[string]struct {
		truth    change
		noise    float64
		says     string
		saysNone string
	}{
		"the same":       {change{1, 1, 1}, 0.0005, "nothing speaks against the machine file", "would agree"},
		"nearly":         {change{1.05, 1, 1}, 0, "nothing speaks against the machine file", "heavier"},
		"heavier load":   {change{1.6, 1, 1}, 0, "a heavier load: load_step", "lighter load"},
		"more inertia":   {change{1, 1.8, 1}, 0, "more inertia: main", "less inertia"},
		"weaker engine":  {change{1, 1, 0.7}, 0, "a weaker engine: engine", "stronger"},
		"lighter load":   {change{0.6, 1, 1}, 0, "a lighter load: load_step", "heavier"},
		"lighter blades": {change{1, 0.6, 1}, 0, "less inertia: main", "more inertia"},
	} {
		t.Run(name, func(t *testing.T) {
			said := strings.Join(Compare(m, m.Speeds[0], bench, answer(t, m, c.truth, c.noise, rng)).Says, "\n")
			require.Contains(t, said, c.says)
			require.NotContains(t, said, c.saysNone)
		})
	}
}

func TestWhatCannotBeTold(t *testing.T) {
	m := load(t, "medium-15cc")
	bench := answer(t, m, change{1, 1, 1}, 0, rand.New(rand.NewPCG(1, 2)))
	flat := Read(measure.Series{T: []float64{0, 1}, Y: []float64{1, 1}}, 0.5, m.Speeds[0])
	slow, up, rise := bench, bench, bench
	rise.Deviation.Value *= -1
	slow.Before.Value *= 0.9
	up.Deviation.Value *= -1
	coarse := bench
	coarse.Slope = measure.Missing("coarse")
	for says, flown := range map[string]Side{"no dip in both": flat, "across two speeds": slow, "other way round": up, "how fast it begins is not seen": coarse} {
		require.Contains(t, strings.Join(Compare(m, m.Speeds[0], bench, flown).Says, "\n"), says)
	}
	require.Contains(t, strings.Join(Compare(m, m.Speeds[0], rise, rise).Says, "\n"), "a load that goes off")
	_, ok := agree(m, m.Speeds[0], math.Inf(1), 1, func(a, b float64) change { return change{a, b, 1} })
	require.False(t, ok)
}
