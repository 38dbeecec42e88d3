package rig

import (
	"govrig/protocol"
	"govrig/rig/tick"
)

// disturbance is how many of the compared intervals after an order of a fault
// was applied may be other than the plant's: that to the next edge, at which the
// fault begins, those to a stray pulse and from it, and two more.
const disturbance = 5

// sentEdges compares the pickup edges that the board has sent with the plant's
// own passes: the first of a play with the nearest, every further with the one
// after, by count.
type sentEdges struct {
	count   uint8
	counted bool
	newest  int64 // edge of the newest frame
	fresh   bool  // there was one in it

	waiting [512]int64 // edges for which the plant has not come far enough
	first   int        // of waiting, of all that ever were
	end     int

	number int   // pass that the last edge went with
	edge   int64 // that edge; unknown when it was not told
	paired bool

	faulty    uint8 // sequence of the drive that ordered a fault
	ordered   bool  // it has not been applied yet
	disturbed int   // so many of the next intervals are not the plant's
}

// unknown is an edge that was counted but not told.
const unknown = int64(-1) << 62

// told gives the newest edge that the board has told of, and the number of its
// pass; ok is false while that is not known.
func (s *sentEdges) told() (number int, edge float64, ok bool) {
	return s.number + s.end - s.first, float64(s.newest), s.paired && s.newest != unknown
}

// fault takes note of a fault in the drive of the given sequence.
func (s *sentEdges) fault(sequence uint8) { s.faulty, s.ordered = sequence, true }

// take takes in the edges of a frame; each is compared as soon as the plant has
// come to its pass.
func (s *sentEdges) take(t *protocol.Telemetry, more *protocol.Edges, now int64, p *passed, h *Health) {
	s.fresh = false
	sent := int(t.PickupCount - s.count)
	s.count = t.PickupCount
	if s.counted && sent > 0 {
		s.tell(t, more, sent, now, h)
	}
	s.compare(p, h)
	s.applied(t)
	if t.Flags&protocol.TelemetryPlaying == 0 {
		s.paired, s.first = false, s.end
	}
	s.counted = true
}

// tell puts the edges of a frame on the waiting list.
func (s *sentEdges) tell(t *protocol.Telemetry, more *protocol.Edges, sent int, now int64, h *Health) {
	told := 0
	if more.Sequence == t.Sequence {
		told = min(more.EdgesLen, sent-1)
	}
	for range sent - 1 - told {
		s.wait(unknown, h)
	}
	for _, e := range more.Edges[more.EdgesLen-told : more.EdgesLen] {
		s.wait(tick.Before24(now, e.Ticks), h)
	}
	s.newest, s.fresh = tick.Before24(now, t.PickupTicks), true
	s.wait(s.newest, h)
}

func (s *sentEdges) wait(edge int64, h *Health) {
	if s.end-s.first == len(s.waiting) {
		s.first, s.paired = s.first+1, false
		h.Unpaired++
	}
	s.waiting[s.end%len(s.waiting)] = edge
	s.end++
}

// applied begins to count the disturbed intervals when the order of a fault has
// been applied.
func (s *sentEdges) applied(t *protocol.Telemetry) {
	if s.ordered && t.Flags&protocol.TelemetryDriven != 0 && int8(t.AppliedDrive-s.faulty) >= 0 {
		s.ordered, s.disturbed = false, disturbance
	}
}

// compare pairs the waiting edges that can be.
func (s *sentEdges) compare(p *passed, h *Health) {
	for s.first < s.end {
		edge := s.waiting[s.first%len(s.waiting)]
		if s.paired && !s.ordered && s.disturbed == 0 {
			if !s.follow(edge, p, h) {
				return
			}
		} else if !s.find(edge, p, h) {
			return
		}
		s.first++
	}
}

// follow pairs an edge with the pass after the last; false is that it has to
// wait for it.
func (s *sentEdges) follow(edge int64, p *passed, h *Health) bool {
	pass, ok := p.at(s.number + 1)
	if !ok && s.number+1 >= p.seen {
		return false
	}
	before, known := p.at(s.number)
	s.number++
	switch {
	case edge == unknown || !ok || !known:
		h.Unpaired++
	case s.edge != unknown:
		h.interval(float64(edge-s.edge)/(pass-before) - 1)
	}
	s.edge = edge
	return true
}

// find pairs an edge with the nearest pass, where no count leads to one; false is
// that it has to wait for it.
func (s *sentEdges) find(edge int64, p *passed, h *Health) bool {
	if edge == unknown {
		h.Unpaired++
		return true
	}
	number, come, ok := p.nearest(float64(edge))
	if !come {
		return false
	}
	if !ok {
		h.Unpaired++
	}
	s.number, s.edge, s.paired = number, edge, ok
	if !s.ordered {
		s.disturbed = max(0, s.disturbed-1)
	}
	return true
}
