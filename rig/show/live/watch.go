package live

import (
	"math"

	"govrig/rig/execution"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/machine"
)

// Watch looks on at what a bench does from now on. What the bench's functions
// did before they go on doing.
func (p *Page) Watch(b *execution.Bench) {
	record, progress, say := b.Record, b.Progress, b.Say
	m := b.Machine
	b.Record = func(info runlog.Info) (*runlog.Writer, error) {
		p.started(&info, m)
		if record == nil {
			return nil, nil
		}
		return record(info)
	}
	b.Progress = func(phase string, s *runlog.Sample) {
		p.sample(phase, s)
		if progress != nil {
			progress(phase, s)
		}
	}
	b.Say = func(sentence string) {
		p.update(func(s *State) { s.Said = last(append(s.Said, sentence), keepLines) })
		if say != nil {
			say(sentence)
		}
	}
}

// last are the newest n of lines.
func last[T any](lines []T, n int) []T { return lines[max(0, len(lines)-n):] }

// started begins anew for a procedure.
func (p *Page) started(info *runlog.Info, m *machine.Machine) {
	state := State{
		Procedure: info.Procedure, Title: procedure.Known.Title(info.Procedure), Machine: info.Machine, Setting: info.Speed, Board: info.Board,
		Virtual: info.Virtual, Provenance: runlog.Provenance(info.Virtual, info.Subject),
	}
	if m != nil {
		state.ThrottleRange = [2]float64{float64(m.Servo.ClosedPulse) * 1e6, float64(m.Servo.OpenPulse) * 1e6}
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.begin(state)
	p.rate, p.machine = float64(info.TickHz), m
	p.tell()
}

// begin puts a new state in the place of the old one. p.mu is held.
func (p *Page) begin(state State) {
	state.Stopping, state.StoppedAt = p.state.Stopping, p.state.StoppedAt
	state.Walking, state.Step, state.Steps = p.state.Walking, p.state.Step, p.state.Steps
	state.Phases, state.Said = []Phase{}, []string{}
	p.state, p.taking, p.recent = state, taking{}, nil
	for c := range p.clients {
		c.points, c.anew = c.points[:0], true
	}
}

// Point is a moment of the curves.
type Point struct {
	Time float64 `json:"t"` // s of the run
	// Head and Engine are speeds, rpm; Low and High bound the head speed since
	// the point before; Set is the head speed that the select pulse asks for, 0
	// where that is not known.
	Head   float64 `json:"head"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	Engine float64 `json:"engine"`
	Set    float64 `json:"set"`
	// Throttle is the newest throttle pulse, µs; 0 while none has come.
	Throttle float64 `json:"throttle"`
	// Load is the collective, degrees.
	Load float64 `json:"load"`
	// The numbers of the phase under way.
	PhaseLow  float64 `json:"phase_low"`
	PhaseMean float64 `json:"phase_mean"`
	PhaseHigh float64 `json:"phase_high"`
}

// pointEvery is how much board time lies between two points, s.
const pointEvery = 0.05

// taking gathers samples into points and phases.
type taking struct {
	last      Point   // the newest sample
	low, high float64 // of the head speed since the last point
	sent      float64 // when that was, s
	any       bool

	phase string
	from  float64
	n     int
	sum   float64
	least [2]float64 // of head speed and throttle pulse, in the phase
	most  [2]float64
}

const (
	rpm     = 60 / (2 * math.Pi) // from rad/s
	degrees = 180 / math.Pi      // from rad
)

// sample takes in a sample of the run. It never waits for a browser.
func (p *Page) sample(phase string, s *runlog.Sample) {
	p.mu.Lock()
	defer p.mu.Unlock()
	t := &p.taking
	if p.rate == 0 {
		return // nothing was said to have begun
	}
	now := Point{
		Time: float64(s.Ticks) / p.rate, Head: s.State.HeadSpeed * rpm, Engine: s.State.EngineSpeed * rpm,
		Set: p.wanted(s), Throttle: s.Throttle * 1e6, Load: s.Collective * degrees,
	}
	if !t.any || t.phase != phase {
		p.endPhase()
		t.begin(phase, &now)
		p.state.Phase, p.state.PhaseFrom = phase, now.Time
		p.tell()
	}
	t.add(&now)
	if now.Time-t.sent >= pointEvery || t.n == 1 {
		p.point()
	}
}

func (t *taking) begin(phase string, now *Point) {
	t.phase, t.from, t.n, t.sum = phase, now.Time, 0, 0
	t.least = [2]float64{math.Inf(1), math.Inf(1)}
	t.most = [2]float64{math.Inf(-1), math.Inf(-1)}
	if !t.any {
		t.low, t.high, t.any = now.Head, now.Head, true
	}
}

func (t *taking) add(now *Point) {
	t.last = *now
	t.low, t.high = math.Min(t.low, now.Head), math.Max(t.high, now.Head)
	t.n++
	t.sum += now.Head
	for i, v := range [2]float64{now.Head, now.Throttle} {
		t.least[i], t.most[i] = math.Min(t.least[i], v), math.Max(t.most[i], v)
	}
}

// wanted is the head speed, rpm, that the select pulse asks for, where the speed
// follows it.
func (p *Page) wanted(s *runlog.Sample) float64 {
	if p.machine == nil || s.Select == 0 || p.machine.Governor.Select != machine.SelectContinuous {
		return 0
	}
	return p.machine.Governor.SelectSpeed(s.Select.Seconds()) / p.machine.Ratio() * rpm
}

// point hands the newest sample to the browsers. p.mu is held.
func (p *Page) point() {
	t := &p.taking
	point := t.last
	point.Low, point.High = t.low, t.high
	point.PhaseLow, point.PhaseMean, point.PhaseHigh = t.least[0], t.sum/float64(t.n), t.most[0]
	t.sent, t.low, t.high = point.Time, point.Head, point.Head
	if p.recent == nil {
		p.recent = make([]Point, 0, 2*keepPoints)
	}
	if len(p.recent) == cap(p.recent) {
		p.recent = p.recent[:copy(p.recent, p.recent[len(p.recent)-keepPoints:])]
	}
	p.recent = append(p.recent, point)
	for c := range p.clients {
		c.add(point)
	}
}

// endPhase notes the phase that is over. p.mu is held.
func (p *Page) endPhase() {
	t := &p.taking
	if t.n == 0 {
		return
	}
	p.state.Phases = last(append(p.state.Phases, Phase{
		Name: t.phase, From: t.from, Time: t.last.Time - t.from,
		Low: t.least[0], Mean: t.sum / float64(t.n), High: t.most[0], Closed: t.least[1], Open: t.most[1],
	}), keepLines)
	t.n = 0
}
