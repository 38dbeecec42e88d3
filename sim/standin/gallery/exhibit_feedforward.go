package gallery

var feedForwardMember = Member{
	Name: "feed-forward", Kind: Healthy,
	About: "adds the stick to a PI whose integral is bounded",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &feedForward{k: w.Gain, ti: w.IntegralTime, h: p.period(), c: 0.6, bound: 1}
		return p
	},
}
