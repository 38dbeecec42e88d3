package gallery

var huntsMember = Member{
	Name: "hunts", Kind: Hunts,
	About: "a PI with sixteen times the gain: its loop is not stable, and the ends of the throttle or the servo's speed bound its swing",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &pi{k: 16 * w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
