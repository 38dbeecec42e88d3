package pickup

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"govrig/rig/execution"
	"govrig/rig/measure/train"
)

const (
	lookEvery   = 0.5 // s
	steadyLooks = 6   // with the same verdict end the watch: 3 s
	windowTime  = 3.0 // s of pulses that are looked at
	windowTurns = 12  // or so many turns, if those take longer
)

// askTurning asks how the shaft is turned, unless that is known.
func (p *probing) askTurning() error {
	if p.o.Turning > 0 {
		p.turned = true
		return nil
	}
	answer, err := p.Ask(execution.Question{
		Key:     "turning",
		Text:    "How do you turn the shaft? Type hand, or about how fast drill or starter turns it, in rpm, such as 1500",
		Default: "hand",
	}, silent("waiting", 0))
	if err != nil && !errors.Is(err, execution.ErrNotAsked) {
		return err
	}
	text := strings.TrimSpace(strings.TrimSuffix(strings.ToLower(answer), "rpm"))
	if speed, err := strconv.ParseFloat(text, 64); err == nil && speed > 0 && !math.IsInf(speed, 0) {
		p.o.Turning, p.turned = Turning(speed/execution.RPM), true
		return nil
	}
	p.byHand = true
	return nil
}

// watch shows what comes while the person turns the shaft and shifts the
// sensor.
func (p *probing) watch() error {
	for left := float64(p.o.Time); left > 0; {
		part, err := p.PlayUntil(silent("turn the shaft", left), p.look)
		p.pulses, p.all = append(p.pulses, part.Pulses...), append(p.all, part.Pulses...)
		if err != nil {
			return err
		}
		if !p.upside(p.pulses) {
			return nil
		}
		left -= part.Time[len(part.Time)-1] - part.Time[0] + lookEvery
		if err := p.flip(); err != nil {
			return err
		}
	}
	return nil
}

// upside tells that the line rests at the level that was taken for the active
// one: pulses are the shorter part of a turn, unless the file's are not.
func (p *probing) upside(pulses []execution.Pulse) bool {
	if p.flipped || len(pulses) < 6 {
		return false
	}
	share := train.Share(pulses)
	expected := p.judge.is.Width * float64(p.judge.is.PulsesPerRev)
	return math.Abs(share-0.5) > 0.1 && math.Abs(1-share-expected) < math.Abs(share-expected)
}

// look is shown what has come so far, and says what it sees now and then. It
// ends the watch when the levels are upside down, or all is clear.
func (p *probing) look(part execution.Trace) (done bool) {
	now := part.Time[len(part.Time)-1]
	if now < p.nextLook {
		return false
	}
	p.nextLook, p.level = now+lookEvery, p.Loop.High()
	pulses := part.Pulses
	if p.upside(pulses) {
		return true
	}
	if len(pulses) == 0 || now-pulses[len(pulses)-1].End() > 2*lookEvery+longestTurn(pulses) {
		p.sayQuiet()
		return false
	}
	p.quiet = 0
	seen := p.read(newestPulses(pulses, p.judge.is.PulsesPerRev))
	verdict := p.judge.verdict(seen)
	p.sayTurning(seen, verdict)
	if verdict.Kind != p.verdict.Kind || verdict.PerTurn != p.verdict.PerTurn {
		p.steady = 0
	}
	p.steady++
	p.verdict = verdict
	return p.steady > steadyLooks && verdict.Kind != PickupUnread && !p.o.Watch
}

// longestTurn is about how long the shaft took for its newest turn, s, but no
// longer than by a slow hand.
func longestTurn(pulses []execution.Pulse) float64 {
	n := len(pulses)
	if n < 2 {
		return 1
	}
	return math.Min(1, pulses[n-1].Start-pulses[n-2].Start)
}

// newestPulses are the newest pulses.
func newestPulses(pulses []execution.Pulse, perTurn int) []execution.Pulse {
	n := len(pulses)
	if n == 0 {
		return nil
	}
	from := n - 1
	for from > 0 && (pulses[n-1].Start-pulses[from-1].Start < windowTime || n-from < windowTurns*max(1, perTurn)) {
		from--
	}
	return pulses[from:]
}

// seen is what a stretch of pulses gives.
type seen struct {
	train.Turning
	ok     bool // Turning is
	pulses int
	rate   float64 // pulses a second
	exact  float64 // pulses a turn, not rounded
	stuck  bool    // no pulses, and the line at its active level
}

func (p *probing) read(pulses []execution.Pulse) seen {
	n, exact := p.perTurn(pulses)
	s := seen{pulses: len(pulses), rate: pulseRate(pulses), exact: exact, stuck: p.level != p.low}
	s.Turning, s.ok = train.Turn(pulses, max(1, n))
	s.ok = s.ok && n > 0
	return s
}

func (p *probing) say(format string, args ...any) {
	if p.Bench.Say != nil {
		p.Bench.Say(fmt.Sprintf(format, args...))
	}
}

// sayQuiet says every two seconds that nothing comes.
func (p *probing) sayQuiet() {
	if p.quiet%4 == 0 {
		p.say("no pulses; the line is %s, %s", levelWord(p.level), resting(p.level != p.low))
	}
	p.quiet++
	p.steady = 0
}

func levelWord(high bool) string {
	if high {
		return "high"
	}
	return "low"
}

func resting(active bool) string {
	if active {
		return "as if a magnet were felt"
	}
	return "at rest"
}

// sayTurning says what comes, on one line.
func (p *probing) sayTurning(s seen, v PickupVerdict) {
	if !s.ok {
		p.say("%.1f pulses a second; %s", s.rate, v.Kind)
		return
	}
	line := fmt.Sprintf("%.0f rpm, %d a turn, %.1f %% of the turn", 60*s.Speed, s.PerTurn, 100*s.Width())
	if gap, ok := v.gap(); ok {
		line += fmt.Sprintf(", gap about %.1f mm", 1e3*gap)
	}
	p.say("%s: %s", line, v.Kind)
}

// wholeTurns is how many turns by hand the pulses are counted over.
const wholeTurns = "10"

// count lets the person turn the shaft through whole turns and counts the
// pulses.
func (p *probing) count() error {
	p.say("Now turn the shaft by hand through %s whole turns, slowly, and stop.", wholeTurns)
	part, err := p.PlayUntil(silent("count turns", 60), func(part execution.Trace) bool {
		now, n := part.Time[len(part.Time)-1], len(part.Pulses)
		if n == 0 {
			return now-part.Time[0] > 20
		}
		return now-part.Pulses[n-1].End() > 3
	})
	p.all = append(p.all, part.Pulses...)
	if err != nil {
		return err
	}
	answer, err := p.Ask(execution.Question{Key: "turns", Text: "How many whole turns was that?", Default: wholeTurns}, silent("waiting", 0))
	if err != nil && !errors.Is(err, execution.ErrNotAsked) {
		return err
	}
	turns, err := strconv.ParseFloat(strings.TrimSpace(answer), 64)
	if err != nil || turns < 1 {
		return nil
	}
	p.turned = true
	p.counted = int(math.Round(float64(len(part.Pulses)) / turns))
	return nil
}
