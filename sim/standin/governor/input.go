package governor

// pulse times the newest servo pulse of a line.
type pulse struct {
	rise  int64
	fall  int64 // end of the newest pulse
	high  bool
	width int64 // ticks; 0 while none has come
}

func (p *pulse) edge(tick int64, high bool) {
	if high {
		p.rise = tick
	} else if p.high {
		p.width, p.fall = tick-p.rise, tick
	}
	p.high = high
}

// rejected is how many strange intervals in a row the meter rides over.
const rejected = 3

// meter measures speed from pickup edges. An interval much shorter than the
// last ends at a stray pulse, which is left out; one near twice or three times as
// long holds missing pulses and is divided. Short ones that go on are believed.
// Long ones that go on are a failing pickup, unless they lead back to what was
// believed before: no engine is half as fast from one pulse to the next, and to
// believe it would be to open the throttle.
type meter struct {
	loss     int64 // ticks without a pulse that count as a failed pickup
	gullible bool  // believes long intervals, too
	last     int64 // newest edge that counted
	began    int64 // edge at which the present measurement began
	pulses   int64 // pulses since began
	interval int64 // last good interval; 0 while none is known
	before   int64 // what it was before short ones were believed
	left     bool  // a stray pulse has been left out since last
	strange  int   // strange intervals with no clean one between
	value    float64
	running  bool
	failing  bool // pulses go missing all the time
	heard    history
}

func (m *meter) edge(tick int64) {
	interval := tick - m.last
	if !m.running || interval > m.loss {
		m.begin(tick, 0)
		return
	}
	n := int64(1)
	if m.interval > 0 {
		n = pulsesIn(interval, m.interval)
	}
	switch {
	case n != 1:
		m.strange++
	case !m.left:
		m.strange = 0
	}
	m.left = n == 0
	switch {
	case m.strange > rejected && n > 1 && !m.gullible && (m.before == 0 || pulsesIn(interval, m.before) != 1):
		m.failing = true
	case m.strange > rejected && n != 1:
		before := m.before
		if n == 0 {
			before = m.interval
		}
		m.begin(tick, m.value)
		m.before = before
	case n > 0:
		m.interval = interval / n
		m.pulses += n
		m.last = tick
		m.heard.add(tick, n)
	}
}

// pulsesIn is how many pulses an interval holds where the last good one is
// given; 0 is a stray pulse, half-way or sooner.
func pulsesIn(interval, good int64) int64 { return (10*interval + 4*good) / (10 * good) }

// begin measures anew from an edge on, with the value that holds until then.
func (m *meter) begin(tick int64, value float64) {
	*m = meter{loss: m.loss, gullible: m.gullible, last: tick, began: tick, running: true, value: value}
	m.heard.begin(tick, value)
}

// speed gives the pulses per tick measured since the last call, or the last
// value when no pulse came, and whether the pickup counts as failed at tick
// now.
func (m *meter) speed(now int64) (perTick float64, lost bool) {
	if m.failing || now-m.last > m.loss {
		m.running, m.failing, m.value = false, false, 0
		return 0, true
	}
	if m.pulses > 0 {
		m.value = float64(m.pulses) / float64(m.last-m.began)
		m.began, m.pulses = m.last, 0
	}
	return m.value, false
}
