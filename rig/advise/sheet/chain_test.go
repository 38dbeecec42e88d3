package sheet

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/drive"
	"govrig/sim/machine"
	"govrig/sim/unit"
)

func anyChain(t *rapid.T) Chain {
	teeth := rapid.IntRange(5, 200)
	stages := make([]drive.Stage, rapid.IntRange(1, 4).Draw(t, "stages"))
	for i := range stages {
		stages[i] = drive.Stage{Driver: teeth.Draw(t, "driver"), Driven: teeth.Draw(t, "driven")}
	}
	driven, driver := drive.Teeth(stages)
	return Chain{driven, driver, rapid.IntRange(1, 12).Draw(t, "pulses")}
}

func anySpeed(t *rapid.T, high int64, name string) *big.Rat {
	return big.NewRat(rapid.Int64Range(1, high*1e6).Draw(t, name), 1e6)
}

// Head to engine to pulses and back to the head loses nothing, whatever the
// teeth: the result is the same fraction.
func TestThereAndBackIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chain := anyChain(t)
		head := anySpeed(t, 4000, "head")
		back := chain.Head(chain.Pulses(chain.Engine(head)))
		require.Zero(t, head.Cmp(back), "%s became %s", head, back)
	})
}

// A speed given in rpm, kept in rad/s as the machine file does, comes back as
// the same number of rpm.
func TestRPMSurvivesRadians(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		meant := rapid.Int64Range(1, 40_000_000).Draw(t, "milli-rpm")
		require.Zero(t, big.NewRat(meant, 1000).Cmp(ratRPM(float64(meant)/1000*rpm)))
	})
}

// 1660 on the head through 9 on 78 is 14 386 2/3 at the engine and 239 7/9
// pulses a second.
func TestChainExample(t *testing.T) {
	chain := Chain{78, 9, 1}
	engine := chain.Engine(big.NewRat(1660, 1))
	require.Equal(t, "43160/3", engine.String())
	require.Equal(t, "2158/9", chain.Pulses(engine).String())
}

func TestSettable(t *testing.T) {
	g := machine.Governor{SpeedStep: 20 * rpm, SpeedLow: 10010 * rpm, SpeedHigh: 18010 * rpm}
	for wanted, set := range map[int64]int64{14386: 14380, 14390: 14400, 14391: 14400, 9000: 10020, 20000: 18000} {
		require.Equal(t, big.NewRat(set, 1).String(), settable(g, big.NewRat(wanted, 1)).String())
	}
	stepless := machine.Governor{SpeedLow: 10010 * rpm, SpeedHigh: 20000 * rpm}
	require.Equal(t, "30001/2", settable(stepless, big.NewRat(30001, 2)).String())
	require.Equal(t, "10010/1", settable(stepless, big.NewRat(9000, 1)).String())
}

// What the governor is set to is a whole number of steps, inside its range,
// and no other such speed is nearer.
func TestSettableIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.Int64Range(1, 500).Draw(t, "step")
		low := rapid.Int64Range(1, 10000).Draw(t, "low")
		high := low + step + rapid.Int64Range(0, 10000).Draw(t, "range")
		g := machine.Governor{SpeedStep: unit.Speed(step) * rpm, SpeedLow: unit.Speed(low) * rpm, SpeedHigh: unit.Speed(high) * rpm}
		wanted := anySpeed(t, 25000, "wanted")
		set := settable(g, wanted)
		require.True(t, set.IsInt())
		at := set.Num().Int64()
		require.Zero(t, at%step)
		require.GreaterOrEqual(t, at, low)
		require.LessOrEqual(t, at, high)
		off := func(v int64) *big.Rat {
			d := new(big.Rat).Sub(big.NewRat(v, 1), wanted)
			return d.Abs(d)
		}
		for _, other := range []int64{at - step, at + step} {
			if other >= low && other <= high {
				require.LessOrEqual(t, off(at).Cmp(off(other)), 0)
			}
		}
	})
}
