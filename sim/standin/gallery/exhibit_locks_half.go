package gallery

var locksHalfMember = Member{
	Name: "locks half", Kind: LocksHalf,
	About: "after pulses were doubled for a while it goes on dividing by two, at half speed",
	build: func(w Wiring) parts {
		p := usual(w)
		p.trust = &locking{}
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
