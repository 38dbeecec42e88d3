package gallery

var armsHighMember = Member{
	Name: "arms high", Kind: ArmsHigh,
	About: "engages above 70 % stick only, and only at 0.85 of its lowest speed or above; until then the stick passes through",
	build: func(w Wiring) parts {
		p := usual(w)
		p.on, p.off, p.least = 0.70, 0.66, 0.85*w.SpeedLow
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
