package gallery

var holdsStickMember = Member{
	Name: "holds stick", Kind: HoldsStick,
	About: "goes on governing for ever without stick pulses",
	build: func(w Wiring) parts {
		p := usual(w)
		p.stickLoss = 0
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
