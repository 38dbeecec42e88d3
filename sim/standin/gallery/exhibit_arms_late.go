package gallery

var armsLateMember = Member{
	Name: "arms late", Kind: ArmsHigh,
	About: "engages above 93 % stick only, at half of its lowest speed or above; until then the stick passes through",
	build: func(w Wiring) parts {
		p := usual(w)
		p.on, p.off, p.least = 0.93, 0.90, 0.5*w.SpeedLow
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
