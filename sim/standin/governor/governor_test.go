package governor

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

const (
	rate   = 16e6
	perRPM = 2 * math.Pi / 60
)

func params() Params {
	return Params{
		TickRate: rate, PulsesPerTurn: 1,
		ThrottleClosed: 1.1e-3, ThrottleOpen: 1.9e-3, FrameRate: 71, OutputStep: 2e-6,
		SelectLow: 1.1e-3, SelectHigh: 1.9e-3, SpeedLow: 12_000 * perRPM, SpeedHigh: 18_000 * perRPM, SpeedStep: 20 * perRPM,
		ArmOn: 0.31, ArmOff: 0.27, ArmSpeed: 2_000 * perRPM, SpoolRate: 2_000 * perRPM,
		Gain: 0.002, IntegralTime: 0.8, LossTime: 0.3,
	}
}

// bench plays lines to a governor and collects its throttle pulses.
type bench struct {
	t      *testing.T
	g      *Governor
	now    int64
	pickup func(now int64) int64 // ticks to the next pickup edge; 0 is none
	edge   int64
	stick  float64 // s
	sel    float64
	servo  int64
	widths []float64 // s
	rises  []int64
}

func newBench(t *testing.T, p Params) *bench {
	g, err := New(p, 0)
	require.NoError(t, err)
	return &bench{t: t, g: g, stick: 1.1e-3, sel: 1.5e-3}
}

func constant(rpm float64) func(int64) int64 {
	return func(int64) int64 { return int64(rate * 60 / rpm) }
}

// run plays for some seconds and gives the last throttle width, s.
func (b *bench) run(seconds float64) float64 {
	end := b.now + int64(seconds*rate)
	for b.now < end {
		next := min(b.g.NextFrame(), b.servo)
		if b.pickup != nil {
			next = min(next, b.edge)
		}
		b.now = next
		if b.pickup != nil && b.edge <= b.now {
			b.pulse(Pickup, b.now, 500e-6)
			b.edge += b.pickup(b.now)
		}
		if b.servo <= b.now {
			b.pulse(Stick, b.now, b.stick)
			b.pulse(Select, b.now, b.sel)
			b.servo += int64(0.022 * rate)
		}
		if b.g.NextFrame() <= b.now {
			rise, width := b.g.Frame()
			b.rises = append(b.rises, rise)
			b.widths = append(b.widths, float64(width)/rate)
		}
	}
	return b.widths[len(b.widths)-1]
}

// pulse gives both edges at once: only the leading one's moment matters to the
// pickup, only the distance to a servo line.
func (b *bench) pulse(line Line, at int64, width float64) {
	b.g.Edge(line, at, true)
	b.g.Edge(line, at+int64(width*rate), false)
}

// start begins pulses at the present moment.
func (b *bench) start(pickup func(int64) int64) {
	b.pickup, b.edge = pickup, b.now+1000
}

func TestStickPassesThroughBelowArming(t *testing.T) {
	b := newBench(t, params())
	b.start(constant(3_000))
	for _, width := range []float64{1.1e-3, 1.2e-3, 1.3e-3, 1.346e-3} {
		b.stick = width
		require.InDelta(t, width, b.run(0.2), 1e-6+1e-12)
	}
}

func TestFrameRateAndStep(t *testing.T) {
	b := newBench(t, params())
	b.stick = 1.1234567e-3
	b.run(10)
	frames := float64(len(b.rises) - 1)
	require.InDelta(t, 71, frames*rate/float64(b.rises[len(b.rises)-1]-b.rises[0]), 71e-6)
	for _, w := range b.widths[5:] {
		require.InDelta(t, 1.124e-3, w, 1e-9)
	}
}

func TestArmingHasHysteresis(t *testing.T) {
	p := params()
	at := func(share float64) float64 { return p.ThrottleClosed + share*(p.ThrottleOpen-p.ThrottleClosed) }
	b := newBench(t, p)
	b.start(constant(3_000))
	b.stick = at(0.30)
	b.run(0.5)
	require.False(t, b.g.armed)
	b.stick = at(0.32)
	b.run(0.5)
	require.True(t, b.g.armed)
	b.stick = at(0.28)
	b.run(0.5)
	require.True(t, b.g.armed)
	b.stick = at(0.26)
	require.InDelta(t, b.stick, b.run(0.5), 2e-6)
	require.False(t, b.g.armed)
}

// Open loop with a constant speed error the output is that of a PI
// controller: a jump of K·e, then a slope of K·e/Ti (Åström and Hägglund, PID
// Controllers, 1995, section 3.2, from memory).
func TestPILaw(t *testing.T) {
	p := params()
	p.OutputStep, p.SpoolRate = 0, 1e9
	p.SelectLow, p.SelectHigh = 1.0e-3, 2.0e-3
	b := newBench(t, p)
	const period = 64_171             // ticks: 14 960.03 rpm
	const e = 15_000 - rate*60/period // rpm low
	b.start(func(int64) int64 { return period })
	b.stick = 1.3e-3
	b.run(1)
	b.stick = 1.5e-3
	b.run(1)
	share := func(w float64) float64 { return (w - p.ThrottleClosed) / (p.ThrottleOpen - p.ThrottleClosed) }
	k := p.Gain * e * perRPM
	first := 0
	for i, w := range b.widths {
		if math.Abs(share(w)-0.25-k) < k/100 {
			first = i
			break
		}
	}
	require.NotZero(t, first, "the jump of K·e from the stick's 25 %%")
	for n := 1; n <= 30; n++ {
		want := 0.25 + k + k/p.IntegralTime*float64(n)/p.FrameRate
		require.InDelta(t, want, share(b.widths[first+n]), 0.51*62.5e-9/0.8e-3) // half a tick
	}
}

func TestOutputEndsDoNotWindUp(t *testing.T) {
	b := newBench(t, params())
	b.start(constant(14_000))
	b.stick = 1.6e-3
	require.Equal(t, 1.9e-3, b.run(60), "full throttle after a minute of too little speed")
	b.pickup = constant(16_000)
	// The integral was at most 1; a second of 1000 rpm too many takes K·e and
	// K·e/Ti off: 0.21 and 0.26 of 0.8 ms of travel.
	require.Less(t, b.run(1), 1.1e-3+(1-0.20-0.25)*0.8e-3)
}

func TestSpeedSettingSteps(t *testing.T) {
	b := newBench(t, params())
	for width, want := range map[float64]float64{
		0.9e-3: 12_000, 1.1e-3: 12_000, 1.5e-3: 15_000, 1.501e-3: 15_000, 1.502e-3: 15_020, 1.9e-3: 18_000, 2.2e-3: 18_000,
	} {
		b.sel = width
		b.run(0.1)
		require.InDelta(t, want, b.g.setting()/perRPM, 1e-6, "%g", width)
	}
}

func TestLostPickupClosesAndStaysClosed(t *testing.T) {
	b := newBench(t, params())
	b.start(constant(14_000))
	b.stick = 1.6e-3
	b.run(5)
	b.pickup = nil
	require.Equal(t, 1.1e-3, b.run(0.35))
	b.start(constant(3_000))
	require.Equal(t, 1.1e-3, b.run(1), "pulses that come back do not open it")
	b.stick = 1.1e-3
	b.run(0.5)
	b.stick = 1.6e-3
	b.run(1)
	require.True(t, b.g.armed, "the stick at its low end resets it")
}

// Without stick pulses it goes on for a while, then closes; with them it takes up again.
func TestLostStickCloses(t *testing.T) {
	p := params()
	b := newBench(t, p)
	b.start(constant(14_000))
	b.stick = 1.6e-3
	b.run(5)
	open := b.widths[len(b.widths)-1]
	require.Greater(t, open, 1.2e-3)
	sent := b.servo
	b.servo = 1 << 60
	require.Greater(t, b.run(stickLoss-0.1), 1.2e-3)
	require.Equal(t, p.ThrottleClosed, b.run(0.15))
	b.servo = sent + int64(2*rate)
	b.run(3)
	require.True(t, b.g.armed)
}

func TestNoPickupAtAllClosesOnArming(t *testing.T) {
	b := newBench(t, params())
	b.stick = 1.6e-3
	require.Equal(t, 1.1e-3, b.run(1))
}

// One missing pulse, or one stray, hardly moves the measured speed.
func TestMissingAndStrayPulsesAreRiddenOver(t *testing.T) {
	for name, disturb := range map[string]func(n int, period int64) int64{
		"missing": func(n int, p int64) int64 {
			if n%37 == 0 {
				return 2 * p
			}
			return p
		},
		"stray": func(n int, p int64) int64 { // a third of the way, now and then
			switch n % 37 {
			case 0:
				return p / 3
			case 1:
				return p - p/3
			}
			return p
		},
		"stray, half-way": func(n int, p int64) int64 {
			if n%37 < 2 {
				return p / 2
			}
			return p
		},
	} {
		b := newBench(t, params())
		n := 0
		period := int64(rate / 250) // 15 000 rpm
		b.start(func(int64) int64 { n++; return disturb(n, period) })
		b.run(0.02)
		for range 200 {
			b.run(0.014)
			if n > 20 {
				speed, lost := b.g.meter.value, b.g.meter.running
				require.True(t, lost)
				require.InDelta(t, 1/float64(period), speed, 1e-3/float64(period), name)
			}
		}
	}
}

// A speed that really doubles at once is believed after a few pulses.
func TestRealSpeedChangeIsBelieved(t *testing.T) {
	b := newBench(t, params())
	b.start(constant(5_000))
	b.run(1)
	b.pickup = constant(12_000)
	b.run(0.2)
	require.InDelta(t, 12_000, b.g.meter.value*rate*60, 12)
}

func TestValidateNamesEachFault(t *testing.T) {
	require.NoError(t, params().Validate())
	p := params()
	p.FrameRate, p.ArmOff, p.Gain = 0, 0.5, math.NaN()
	err := p.Validate()
	for _, word := range []string{"FrameRate", "ArmOff", "Gain"} {
		require.ErrorContains(t, err, word)
	}
	_, err = New(p, 0)
	require.Error(t, err)
}

func BenchmarkFrame(b *testing.B) {
	g, _ := New(params(), 0)
	b.ReportAllocs()
	for b.Loop() {
		at := g.NextFrame()
		g.Edge(Pickup, at-1000, true)
		g.Frame()
	}
}

// After a restart it sends nothing for a while, has forgotten that it governed,
// and takes up again by itself while stick and pulses are there.
func TestRestart(t *testing.T) {
	p := params()
	b := newBench(t, p)
	b.start(constant(13_000))
	b.stick = 1.5e-3
	b.run(1)
	require.True(t, b.g.armed)
	b.g.Restart(0.3)
	require.False(t, b.g.armed)
	before := len(b.widths)
	b.run(0.29)
	for _, width := range b.widths[before:] {
		require.Zero(t, width)
	}
	b.run(0.5)
	require.InDelta(t, p.ThrottleClosed, b.widths[before+22], 20e-6, "it begins with the throttle closed")
	require.True(t, b.g.armed)
	require.False(t, b.g.failed)
}

// Counting both edges of a pulse reads twice the speed.
func TestBothEdges(t *testing.T) {
	p := params()
	p.SpeedHigh, p.SpoolRate = 60_000*perRPM, perRPM
	for both, want := range map[bool]float64{false: 13_000, true: 26_000} {
		p.BothEdges = both
		b := newBench(t, p)
		b.start(constant(13_000))
		b.stick = 1.5e-3
		b.run(0.1)
		require.InDelta(t, want*perRPM, b.g.set, 0.01*want*perRPM)
	}
}

// Every pulse doubled for a while looks like twice the speed, and is believed;
// so is the way back.
func TestDoubledPulsesAndBack(t *testing.T) {
	b := newBench(t, params())
	b.stick = 1.5e-3
	for _, rpm := range []float64{12_000, 24_000, 12_000} {
		b.start(constant(rpm))
		b.run(1)
		require.False(t, b.g.failed)
		require.InEpsilon(t, rpm, b.g.meter.value*rate*60, 1e-3)
	}
}

// A jump of any size upward is believed, whatever it is a multiple of.
func TestAnyRealSpeedUpIsBelieved(t *testing.T) {
	for _, factor := range []float64{1.4, 1.7, 1.96, 2, 2.05, 2.4, 2.9, 3.3, 4} {
		b := newBench(t, params())
		b.start(constant(5_000))
		b.run(1)
		b.pickup = constant(5_000 * factor)
		b.run(0.3)
		require.InEpsilon(t, 5_000*factor, b.g.meter.value*rate*60, 1e-3, factor)
	}
}

// An engine that is half as fast from one pulse to the next is a pickup that
// misses every second pulse: the throttle shuts, it does not open.
func TestHalfThePulsesIsAFailingPickup(t *testing.T) {
	b := newBench(t, params())
	b.start(constant(12_000))
	b.stick = 1.5e-3
	b.run(1)
	require.NotZero(t, b.g.output)
	b.pickup = constant(6_000)
	b.run(0.2)
	require.True(t, b.g.failed)
	require.Zero(t, b.g.output)
}
