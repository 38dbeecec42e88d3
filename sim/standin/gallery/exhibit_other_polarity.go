package gallery

var otherPolarityMember = Member{
	Name: "other polarity", Kind: OtherPolarity,
	About: "has the active level of the pickup line the wrong way round and counts only pulses shorter than half their spacing: it hears none",
	build: func(w Wiring) parts {
		p := usual(w)
		p.gate = &inverted{}
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
