package gallery

var slowIntegralMember = Member{
	Name: "slow integral", Kind: SlowIntegral,
	About: "a calm PI with an integral time of 6 s: it takes long to come back, and is no fault of its steps",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &pi{k: w.Gain, ti: 6, h: p.period()}
		return p
	},
}
