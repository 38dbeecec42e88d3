package gallery

var gradedMember = Member{
	Name: "graded", Kind: Healthy,
	About: "rules instead of a gain: it answers a large error twice as strongly as a small one",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &graded{k: 0.8 * w.Gain, ti: w.IntegralTime, h: p.period(), wide: 0.1 * (w.SpeedLow + w.SpeedHigh) / 2}
		return p
	},
}
