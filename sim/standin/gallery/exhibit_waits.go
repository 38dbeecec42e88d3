package gallery

var waitsMember = Member{
	Name: "holds then opens", Kind: HoldsThenOpens,
	About: "leaves the throttle where it is for five seconds after the pickup is lost, then opens it",
	build: func(w Wiring) parts {
		p := usual(w)
		p.onLoss, p.patience = Holds, 5
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
