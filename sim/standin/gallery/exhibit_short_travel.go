package gallery

var shortTravelMember = Member{
	Name: "short travel", Kind: ShortTravel,
	About: "opens the throttle to 85 % of its travel at most",
	build: func(w Wiring) parts {
		p := usual(w)
		p.most = 0.85
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
