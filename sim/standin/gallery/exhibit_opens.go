package gallery

var opensMember = Member{
	Name: "opens", Kind: OpensOnLoss,
	About: "takes a lost pickup for an engine that stands, and opens the throttle",
	build: func(w Wiring) parts {
		p := usual(w)
		p.trust, p.onLoss, p.loss = &plain{}, Opens, 0.1
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
