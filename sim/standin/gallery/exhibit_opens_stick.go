package gallery

var opensStickMember = Member{
	Name: "opens stick", Kind: OpensOnStickLoss,
	About: "takes a stick line without pulses for a full stick and governs no longer: the throttle opens",
	build: func(w Wiring) parts {
		p := usual(w)
		p.onStickLoss = Opens
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
