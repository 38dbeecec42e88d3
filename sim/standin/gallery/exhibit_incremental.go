package gallery

var incrementalMember = Member{
	Name: "incremental", Kind: Healthy,
	About: "first-order lag of 15 ms on the speed, incremental PI every 9.7 ms, output at 50 Hz on its own clock",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loop, p.frame = 9.7e-3, 50
		p.filter = &lag{constant: 15e-3, tickRate: w.TickRate}
		p.law = &incremental{k: w.Gain, ti: w.IntegralTime, h: p.loop}
		return p
	},
}
