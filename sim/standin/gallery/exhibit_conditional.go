package gallery

var conditionalMember = Member{
	Name: "rate-limited", Kind: Healthy,
	About: "PI that integrates only off its ends, its output no quicker than its whole travel in a quarter of a second, every 5.3 ms",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loop, p.frame = 5.3e-3, 71
		p.law = &conditional{pi: pi{k: w.Gain, ti: w.IntegralTime, h: p.loop}, rate: 4}
		return p
	},
}
