package drive_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"govrig/sim/drive"
)

func drawStage(t *rapid.T) drive.Stage {
	return drive.Stage{
		Driver:     rapid.IntRange(8, 100).Draw(t, "driver"),
		Driven:     rapid.IntRange(8, 100).Draw(t, "driven"),
		Efficiency: rapid.Float64Range(0.8, 1).Draw(t, "efficiency"),
		Inertia:    rapid.Float64Range(0, 1e-3).Draw(t, "inertia"),
	}
}

// A rotor of 0.050784 kg·m² behind 8.5 : 1 weighs 7.02893e-4 kg·m² on the
// engine: equal kinetic energy, J/n² (worked apart from this code).
func TestReflectedInertia(t *testing.T) {
	train := drive.NewTrain([]drive.Stage{{Driver: 10, Driven: 85, Efficiency: 1}})
	require.InDelta(t, 7.02893e-4, train.AtInput(0.050784), 5e-10)
	require.InDelta(t, 0.050784, train.AtOutput(train.AtInput(0.050784)), 1e-15)
}

// Trains compose: cut anywhere, the two parts one after the other are the
// whole; and the exact ratio of the teeth is the product of the parts'.
func TestTrainsCompose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stages := rapid.SliceOfN(rapid.Custom(drawStage), 1, 6).Draw(t, "stages")
		cut := rapid.IntRange(0, len(stages)).Draw(t, "cut")
		whole := drive.NewTrain(stages)
		parts := drive.NewTrain(stages[:cut]).Then(drive.NewTrain(stages[cut:]))
		require.InEpsilon(t, whole.Ratio, parts.Ratio, 1e-14)
		require.InEpsilon(t, whole.Efficiency, parts.Efficiency, 1e-14)
		require.InDelta(t, whole.Inertia, parts.Inertia, 1e-12*(1+whole.Inertia))

		ratio := func(s []drive.Stage) *big.Rat { return big.NewRat(drive.Teeth(s)) }
		product := new(big.Rat).Mul(ratio(stages[:cut]), ratio(stages[cut:]))
		require.Zero(t, product.Cmp(ratio(stages)))
		exact, _ := product.Float64()
		require.InEpsilon(t, exact, whole.Ratio, 1e-14)
	})
}

// The kinetic energy of the wheels, each at its own speed, is that of the one
// reflected inertia.
func TestInertiaOfTheWheelsKeepsTheirEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stages := rapid.SliceOfN(rapid.Custom(drawStage), 1, 5).Draw(t, "stages")
		speed, energy := 1000.0, 0.0
		for _, s := range stages {
			speed *= float64(s.Driver) / float64(s.Driven)
			energy += s.Inertia * speed * speed / 2
		}
		train := drive.NewTrain(stages)
		require.InDelta(t, energy, train.Inertia*speed*speed/2, 1e-12*(1+energy))
	})
}
