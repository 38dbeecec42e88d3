package gallery

var threeSpeedsMember = Member{
	Name: "three speeds", Kind: ThreeSpeeds,
	About: "has three speeds, lowest, middle and highest; select chooses one by thirds of its travel",
	build: func(w Wiring) parts {
		p := usual(w)
		p.setting, p.kind, p.settings = inSteps(3), InSteps, 3
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
