package gallery

import "math"

var notchMember = Member{
	Name: "notch", Kind: Healthy,
	About: "averages four turns, PI every 4.7 ms behind a notch for swings of 5 Hz, output at 62.5 Hz, in step with nothing",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loop, p.frame = 4.7e-3, 62.5
		p.filter = &average{n: 4 * w.PulsesPerTurn}
		p.law = &notch{pi: pi{k: w.Gain, ti: w.IntegralTime, h: p.loop}, r: 0.97, p: 0.85, c: math.Cos(2 * math.Pi * 5 * p.loop)}
		return p
	},
}
