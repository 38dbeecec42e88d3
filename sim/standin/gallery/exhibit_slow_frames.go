package gallery

var slowFramesMember = Member{
	Name: "slow frames", Kind: SlowFrames,
	About: "governs nearly a thousand times a second and sends 20 frames",
	build: func(w Wiring) parts {
		p := usual(w)
		p.loop, p.frame = 1.03e-3, 20
		p.law = &pi{k: 0.7 * w.Gain, ti: w.IntegralTime, h: p.loop}
		return p
	},
}
