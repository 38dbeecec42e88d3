package gallery

import "math"

var droopsMember = Member{
	Name: "droops", Kind: Droops,
	About: "proportional only: the speed falls by 2,600 rpm of the engine over the throttle's travel",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &droop{k: 1 / (2600 * math.Pi / 30), rest: 0.35}
		return p
	},
}
