package engine

// slots is the number of values kept over one delay; a power of two.
const slots = 32

// delay holds a value back by an angle. The values stand at fixed angles;
// between them, and between the steps that bring them, it runs straight.
type delay struct {
	perAngle float64 // slots per rad; zero for no delay
	at       float64 // angle of the newest value, in slots
	value    float64 // the newest value
	ring     [slots]float64
}

// newDelay spreads the angle over two slots fewer than there are, so that both
// neighbours of the delayed angle are always at hand.
func newDelay(angle float64) delay {
	if angle <= 0 {
		return delay{}
	}
	return delay{perAngle: (slots - 2) / angle}
}

func (d *delay) settle(angle, value float64) {
	d.at, d.value = angle*d.perAngle, value
	for i := range d.ring {
		d.ring[i] = value
	}
}

// next takes the value at an angle and gives that one delay earlier.
func (d *delay) next(angle, value float64) float64 {
	if d.perAngle == 0 {
		return value
	}
	at := angle * d.perAngle
	d.fill(at, value)
	d.at, d.value = at, value
	whole := int64(at)
	part := at - float64(whole)
	old := d.ring[uint64(whole+2)%slots]
	return old + part*(d.ring[uint64(whole+3)%slots]-old)
}

// fill writes the slots between the newest angle and at.
func (d *delay) fill(at, value float64) {
	first, last := int64(d.at)+1, int64(at)
	if last < first {
		return
	}
	slope := (value - d.value) / (at - d.at)
	for k := max(first, last-slots+1); k <= last; k++ {
		d.ring[uint64(k)%slots] = d.value + slope*(float64(k)-d.at)
	}
}
