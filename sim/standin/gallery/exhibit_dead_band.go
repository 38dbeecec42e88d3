package gallery

var deadBandMember = Member{
	Name: "dead band", Kind: DeadBand,
	About: "does nothing within 2 % of the speed, either way one half, and moves its output by 20 µs: it wanders and may hunt slowly, with no gain to blame",
	build: func(w Wiring) parts {
		p := usual(w)
		p.step = 20e-6
		p.law = &deadBand{pi: pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}, half: 0.01 * (w.SpeedLow + w.SpeedHigh) / 2}
		return p
	},
}
