package gallery

var softStartMember = Member{
	Name: "soft start", Kind: Healthy,
	About: "takes 20 s from idling to the middle of its settings",
	build: func(w Wiring) parts {
		p := usual(w)
		p.spool = 0.75 * (w.SpeedLow + w.SpeedHigh) / 2 / 20
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
