package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
)

// linear puts about so many labelled ticks on an axis, at whole multiples of 1,
// 2 or 5 times a power of ten.
func linear(about float64, labelled bool) plot.Ticker {
	return plot.TickerFunc(func(low, high float64) (ticks []plot.Tick) {
		step := Step((high - low) / about)
		for n := math.Ceil(low/step - 1e-9); n*step <= high+1e-9*step; n++ {
			tick := plot.Tick{Value: n * step}
			if labelled {
				tick.Label = number(n*step, step)
			}
			ticks = append(ticks, tick)
		}
		return ticks
	})
}

// fixed puts ticks at multiples of a step.
func fixed(step float64) plot.Ticker {
	return plot.TickerFunc(func(low, high float64) (ticks []plot.Tick) {
		for n := math.Ceil(low/step - 1e-9); n*step <= high+1e-9*step; n++ {
			ticks = append(ticks, plot.Tick{Value: n * step, Label: number(n*step, step)})
		}
		return ticks
	})
}

// Step is the least of 1, 2 and 5 times a power of ten that is not less than
// size.
func Step(size float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(size)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= size*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// number writes v with the decimals that a step needs.
func number(v, step float64) string {
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if v == 0 || strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return strings.Replace(text, "-", "−", 1)
}

// logarithmic labels 1, 2 and 5 of each decade and marks the rest.
func logarithmic(labelled bool) plot.Ticker {
	return plot.TickerFunc(func(low, high float64) (ticks []plot.Tick) {
		for decade := math.Floor(math.Log10(low)); decade <= math.Log10(high); decade++ {
			for m := 1.0; m < 10; m++ {
				v := m * math.Pow(10, decade)
				if v < low*(1-1e-9) || v > high*(1+1e-9) {
					continue
				}
				tick := plot.Tick{Value: v}
				if labelled && (m == 1 || m == 2 || m == 5) {
					tick.Label = number(v, v)
				}
				ticks = append(ticks, tick)
			}
		}
		return ticks
	})
}
