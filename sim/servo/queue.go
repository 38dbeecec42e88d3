package servo

// places is the number of changes kept apart; a power of two.
const places = 64

// queue holds pulse widths back by a fixed number of steps. It stores changes
// only.
type queue struct {
	wait    int64 // steps
	spacing int64 // changes closer than this are merged
	now     int64
	newest  float64
	first   int64 // number of the oldest change not yet due
	next    int64 // number of the change that comes next
	due     [places]int64
	pulse   [places]float64
}

func newQueue(wait int64) queue {
	return queue{wait: wait, spacing: (wait + places - 2) / (places - 1)}
}

func (q *queue) clear() {
	q.first, q.newest = q.next, 0
}

// push takes the newest pulse, which may be the same as before.
func (q *queue) push(pulse float64) {
	if pulse == q.newest {
		return
	}
	q.newest = pulse
	due := q.now + q.wait
	if last := (q.next - 1) & (places - 1); q.next > q.first && due-q.due[last] < q.spacing {
		q.pulse[last] = pulse
		return
	}
	at := q.next & (places - 1)
	q.due[at], q.pulse[at] = due, pulse
	q.next++
}

// pop ends the step and gives the change that is due in it.
func (q *queue) pop() (pulse float64, ok bool) {
	at := q.first & (places - 1)
	ok = q.first < q.next && q.due[at] <= q.now
	if ok {
		pulse = q.pulse[at]
		q.first++
	}
	q.now++
	return pulse, ok
}
