package gallery

var wideOnlyMember = Member{
	Name: "wide only", Kind: WideOnly,
	About: "hears only pulses of 800 µs or more",
	build: func(w Wiring) parts {
		p := usual(w)
		p.gate = &wide{least: int64(800e-6 * w.TickRate)}
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
