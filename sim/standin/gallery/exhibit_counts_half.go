package gallery

var countsHalfMember = Member{
	Name: "counts half", Kind: CountsHalf,
	About: "is set to two pulses for each one: it reads half of the speed, and stands at full throttle on its way to twice the wanted one",
	build: func(w Wiring) parts {
		p := usual(w)
		p.counts = 2
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
