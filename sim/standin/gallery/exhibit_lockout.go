package gallery

var lockoutMember = Member{
	Name: "lockout", Kind: Healthy,
	About: "does not engage after switching on before the stick has been low",
	build: func(w Wiring) parts {
		p := usual(w)
		p.lockout = true
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
