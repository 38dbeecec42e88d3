package gallery

var jittersMember = Member{
	Name: "jitters", Kind: Jitters,
	About: "its frames start up to 3 ms early or late, and one in twelve is missing",
	build: func(w Wiring) parts {
		p := usual(w)
		p.jitter, p.drop = 3e-3, 1.0/12
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
