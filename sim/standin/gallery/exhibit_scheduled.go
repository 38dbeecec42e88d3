package gallery

var scheduledMember = Member{
	Name: "scheduled", Kind: Healthy,
	About: "its gain grows with the throttle, from 0.6 of the full one",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &scheduled{k: 1.3 * w.Gain, ti: w.IntegralTime, h: p.period(), a: 0.6}
		return p
	},
}
