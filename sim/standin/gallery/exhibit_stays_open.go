package gallery

var staysOpenMember = Member{
	Name: "stays open", Kind: StaysOpen,
	About: "after bursts of missing pulses it takes good pulses for strays, reads a part of the speed, and stays at full throttle",
	build: func(w Wiring) parts {
		p := usual(w)
		p.trust = &blanking{}
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
