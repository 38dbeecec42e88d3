package gallery

var pidMember = Member{
	Name: "pid", Kind: Healthy,
	About: "averages two turns, PID with filtered derivative every 3.9 ms, output at 83 Hz on its own clock",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loop, p.frame = 3.9e-3, 83
		p.law = &pid{k: w.Gain, ti: w.IntegralTime, td: 0.06, tf: 0.015, h: p.loop}
		return p
	},
}
