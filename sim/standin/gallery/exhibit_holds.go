package gallery

var holdsMember = Member{
	Name: "holds", Kind: HoldsOnLoss,
	About: "leaves the throttle where it is while the pickup is lost",
	build: func(w Wiring) parts {
		p := usual(w)
		p.onLoss = Holds
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
