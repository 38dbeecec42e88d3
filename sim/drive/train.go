package drive

// Train is a gear train reduced to what the shafts at its ends feel.
type Train struct {
	// Ratio is input over output speed, the product of driven over driving
	// teeth; above 1 it reduces the speed.
	Ratio float64
	// Efficiency is power out over power in, the product of the stages'.
	Efficiency float64
	// Inertia of all wheels about the output shaft, kg·m²: each stage's
	// inertia times the square of its speed over the output's.
	Inertia float64
}

// NewTrain reduces stages that run from input to output.
func NewTrain(stages []Stage) Train {
	t := Train{Ratio: 1, Efficiency: 1}
	for _, s := range stages {
		t = t.Then(s.train())
	}
	return t
}

// Then is the train t followed by next.
func (t Train) Then(next Train) Train {
	return Train{
		Ratio:      t.Ratio * next.Ratio,
		Efficiency: t.Efficiency * next.Efficiency,
		Inertia:    t.Inertia*next.Ratio*next.Ratio + next.Inertia,
	}
}

func (s Stage) train() Train {
	return Train{
		Ratio:      float64(s.Driven) / float64(s.Driver),
		Efficiency: s.Efficiency,
		Inertia:    s.Inertia,
	}
}

// Teeth gives the exact ratio of input to output speed as products of tooth
// counts.
func Teeth(stages []Stage) (driven, driver int64) {
	driven, driver = 1, 1
	for _, s := range stages {
		driven *= int64(s.Driven)
		driver *= int64(s.Driver)
	}
	return driven, driver
}

// AtInput is an inertia on the output shaft, kg·m², as the input shaft feels
// it: J/n² of equal kinetic energy.
func (t Train) AtInput(output float64) float64 { return output / (t.Ratio * t.Ratio) }

// AtOutput is an inertia on the input shaft, kg·m², as the output shaft feels
// it.
func (t Train) AtOutput(input float64) float64 { return input * t.Ratio * t.Ratio }
