package gallery

var closesSlowlyMember = Member{
	Name: "closes slowly", Kind: ClosesSlowly,
	About: "closes within four seconds from full throttle after half a second without pulses",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loss, p.fall = 0.5, 4
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
