package gallery

var selectDeadMember = Member{
	Name: "select dead", Kind: SelectDead,
	About: "does not hear the select line: it holds the speed in the middle of its range",
	build: func(w Wiring) parts {
		p := usual(w)
		p.setting, p.kind, p.settings = fixed(0.5), NoSelect, 1
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
