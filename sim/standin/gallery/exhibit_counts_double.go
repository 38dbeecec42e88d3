package gallery

var countsDoubleMember = Member{
	Name: "counts double", Kind: CountsDouble,
	About: "counts both edges of a pulse: it holds half of the wanted speed",
	build: func(w Wiring) parts {
		p := usual(w)
		p.gate, p.filter = &both{}, &average{n: 4 * w.PulsesPerTurn}
		p.trust = &plain{} // the spacing of its edges is anything but even
		p.law = &pi{k: w.Gain / 2, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
