package gallery

var notGoverningMember = Member{
	Name: "not governing", Kind: NotGoverning,
	About: "passes the stick through and nothing else",
	build: func(w Wiring) parts {
		p := usual(w)
		return p
	},
}
