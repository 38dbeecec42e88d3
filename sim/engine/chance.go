package engine

import "math"

// chance draws one factor on the indicated pressure for each revolution.
type chance struct {
	random    splitmix
	variation float64
	misfire   float64
	turn      float64 // number of the revolution that factor holds for
	factor    float64
}

func newChance(p Params) chance {
	return chance{
		random:    splitmix(p.Seed),
		variation: p.Variation,
		misfire:   p.Misfire,
		factor:    1,
	}
}

func (c *chance) settle(angle float64) { c.turn = math.Floor(angle / (2 * math.Pi)) }

// next gives the factor at a crank angle, rad.
func (c *chance) next(angle float64) float64 {
	if c.variation == 0 && c.misfire == 0 {
		return 1
	}
	turn := math.Floor(angle / (2 * math.Pi))
	if turn > c.turn {
		c.turn = turn
		c.factor = c.draw()
	}
	return c.factor
}

func (c *chance) draw() float64 {
	burns := c.random.share() >= c.misfire
	factor := max(0, 1+c.variation*c.random.normal())
	if !burns {
		return 0
	}
	return factor
}

// splitmix is the generator SplitMix64 of Steele, Lea and Flood, "Fast
// splittable pseudorandom number generators", OOPSLA 2014.
type splitmix uint64

func (s *splitmix) next() uint64 {
	*s += 0x9e3779b97f4a7c15
	z := uint64(*s)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// share is uniform from 0 up to 1.
func (s *splitmix) share() float64 { return float64(s.next()>>11) / (1 << 53) }

// normal has mean 0 and variance 1: the sum of twelve uniform numbers less
// six, close to the normal law out to three deviations and never beyond six.
func (s *splitmix) normal() float64 {
	sum := -6.0
	for range 12 {
		sum += s.share()
	}
	return sum
}
