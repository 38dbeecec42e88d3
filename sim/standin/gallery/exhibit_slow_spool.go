package gallery

import "math"

var slowSpoolMember = Member{
	Name: "slow spool", Kind: SlowSpool,
	About: "its set speed rises by 300 rpm of the engine a second",
	build: func(w Wiring) parts {
		p := usual(w)
		p.spool = 300 * math.Pi / 30
		p.law = &pi{k: w.Gain, ti: w.IntegralTime, h: p.period()}
		return p
	},
}
