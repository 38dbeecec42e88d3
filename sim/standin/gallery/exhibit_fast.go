package gallery

var fastMember = Member{
	Name: "fast", Kind: Healthy,
	About: "median of three turns, PI once a frame, 200 frames a second",
	build: func(w Wiring) parts {
		p := usual(w)
		p.frame, p.filter = 200, &median{}
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
