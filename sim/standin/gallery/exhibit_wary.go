package gallery

var waryMember = Member{
	Name: "wary", Kind: Healthy,
	About: "doubts a pickup that leaps from one speed to another even while the stick is low; no engine leaps",
	build: func(w Wiring) parts {
		p := usual(w)
		p.trust = &guarded{always: true}
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
