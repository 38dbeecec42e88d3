package gallery

var windsUpMember = Member{
	Name: "winds up", Kind: WindsUp,
	About: "its integral has no bounds and a time of 0.4 s: after an overload it overshoots",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &pi{k: 0.8 * w.Gain, ti: 0.5 * w.IntegralTime, h: p.period(), unbounded: true}
		return p
	},
}
