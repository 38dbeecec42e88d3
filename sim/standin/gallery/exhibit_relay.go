package gallery

var relayMember = Member{
	Name: "two throttles", Kind: TwoThrottles,
	About: "opens to 80 % where the speed is half a per cent too low and to 15 % where it is as much too high: it hunts for ever",
	build: func(w Wiring) parts {
		p := usual(w)
		p.law = &relay{low: 0.15, high: 0.8, half: 0.005 * (w.SpeedLow + w.SpeedHigh) / 2}
		return p
	},
}
