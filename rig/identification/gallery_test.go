package identification_test

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"math/cmplx"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/advise/predict"
	"govrig/rig/execution"
	"govrig/rig/identification"
	"govrig/rig/measure"
	"govrig/rig/measure/loop"
	"govrig/rig/procedure"
	"govrig/rig/runlog"
	"govrig/sim/heli"
	"govrig/sim/machine"
	"govrig/sim/standin/board"
	"govrig/sim/standin/gallery"
)

var whole = flag.Bool("whole", false, "identify every governor of the gallery and print what came of it")

// Machine A is the one that a governor is measured with, B and C those that its load
// step is predicted for: other displacement, ratio, rotor, servo and pickup.
func machines(t testing.TB) (a, b, c *machine.Machine) {
	load := func(name string) *machine.Machine {
		m, err := machine.Load("../../testdata/machines/" + name + ".yaml")
		require.NoError(t, err)
		return m
	}
	return load("medium-15cc"), load("small-6cc"), load("large-23cc")
}

// wired is a governor as it was on machine A, put onto machine m: gain, times and
// rates are its own, the lines are the machine's.
func wired(member gallery.Member, a, m *machine.Machine) *gallery.Governor {
	w, own := gallery.WiringOf(m, board.TickHz), gallery.WiringOf(a, board.TickHz)
	w.Gain, w.IntegralTime, w.SpoolRate = own.Gain, own.IntegralTime, own.SpoolRate
	return member.New(w, 0)
}

// runs runs procedures with a governor on a virtual board, at every setting, and keeps
// their records.
func runs(t testing.TB, member gallery.Member, a, m *machine.Machine, names ...string) []*runlog.Record {
	on := func(g *gallery.Governor) io.ReadWriteCloser { return board.New(board.Options{Governor: g}) }
	return runsOn(t, member, a, m, on, names...)
}

// runsOn is runs on any board.
func runsOn(t testing.TB, member gallery.Member, a, m *machine.Machine, on func(*gallery.Governor) io.ReadWriteCloser, names ...string) (records []*runlog.Record) {
	for _, name := range names {
		p := procedure.All.Find(name)
		require.NotNil(t, p, name)
		g := wired(member, a, m)
		o := p.New()
		if at, ok := o.(execution.AtSetting); ok && p.PerSetting {
			at.SetSpeed(execution.AllSpeeds)
		}
		dir := filepath.Join(t.TempDir(), name)
		record := func(info runlog.Info) (*runlog.Writer, error) {
			info.Started = "2026-11-28T12:00:00.000Z"
			return runlog.Create(dir, info)
		}
		_, err := o.Run(context.Background(), &execution.Bench{
			Machine: m, Board: on(g), Where: "gallery", StandIn: g, Record: record,
		})
		require.NoError(t, err)
		rec, err := runlog.Open(dir)
		require.NoError(t, err)
		records = append(records, rec)
	}
	return records
}

// truths holds what was identified against the governor's own equations at each trim
// of its machine: gain and integral time within 5 %, delay within 2 ms, arming within
// 0.2 % of the stick, and the response within 0.5 dB and 3° from 0.1 to 8 Hz.
func truths(t testing.TB, member gallery.Member, a *machine.Machine, r *identification.Result) (worstDB, worstDeg float64) {
	g := wired(member, a, a)
	require.True(t, r.Believed(), "%s: %v", member.Name, r.Doubts)
	with := *a
	with.Other = r.Model
	p := with.GovernorParams(board.TickHz)
	plant := heli.New(a.HeliParams(), execution.StepTime)
	for _, s := range a.Speeds {
		for _, pitch := range []float64{float64(a.LoadStep.CollectiveLow), float64(a.LoadStep.CollectiveHigh)} {
			l, err := plant.Linearise(float64(s.HeadSpeed), pitch)
			require.NoError(t, err)
			truth := g.Truth(member.Kind, l.EngineSpeed, l.ThrottlePulse)
			share := (l.ThrottlePulse - p.ThrottleClosed) / (p.ThrottleOpen - p.ThrottleClosed)
			require.InEpsilon(t, truth.Gain, p.Gain*(1+p.GainRise*share), 0.05, member.Name)
			if truth.IntegralTime > 0 {
				require.InEpsilon(t, truth.IntegralTime, p.IntegralTime, 0.05, member.Name)
			} else {
				require.Zero(t, p.IntegralTime, member.Name)
			}
			delay := p.DeadTime + p.DeadTurns*2*math.Pi/l.EngineSpeed + p.MeasureLag + 0.5/p.FrameRate + l.ThrottlePulse
			require.InDelta(t, truth.Delay, delay, 2e-3, member.Name)
			require.InDelta(t, truth.EngagesAt, p.ArmOn, 0.002, member.Name)
			require.InDelta(t, truth.DisengagesAt, p.ArmOff, 0.002, member.Name)
			for hertz := 0.1; hertz <= 8; hertz *= 1.1 {
				want, ok := g.Response(2*math.Pi*hertz, l.EngineSpeed, l.ThrottlePulse)
				require.True(t, ok)
				off := p.Response(2*math.Pi*hertz, l.EngineSpeed, l.ThrottlePulse) / want
				db, deg := math.Abs(20*math.Log10(cmplx.Abs(off))), math.Abs(cmplx.Phase(off))*180/math.Pi
				require.Less(t, db, 0.5, "%s at %.2g Hz", member.Name, hertz)
				require.Less(t, deg, 3.0, "%s at %.2g Hz", member.Name, hertz)
				worstDB, worstDeg = max(worstDB, db), max(worstDeg, deg)
			}
		}
	}
	return worstDB, worstDeg
}

// shares are the greatest differences of dip and recovery between the load step of the
// model on a machine and the one that the governor itself then makes there, as shares
// of what is measured. A recovery shorter than a tenth of a second is not compared: it
// is as long as the speed takes through the band.
func shares(t testing.TB, member gallery.Member, a, m *machine.Machine, r *identification.Result) (dip, back float64) {
	result, err := runs(t, member, a, m, "loadstep")[0].Result()
	require.NoError(t, err)
	with := *m
	with.Other = r.Model
	for _, s := range m.Speeds {
		of := func(what string) *float64 {
			return result.Get(measure.Key{What: what, Setting: s.Name, Moment: measure.LoadOn}).Value
		}
		const rpm = 30 / math.Pi
		if head := result.Get(measure.Key{What: "head_speed", Setting: s.Name}).Value; head == nil || math.Abs(*head/(float64(s.HeadSpeed)*rpm)-1) > 0.01 {
			t.Logf("%s on %s: %s: not the wanted speed", member.Name, m.Name, s.Name)
			continue
		}
		step, err := predict.StepOf(&with, s, 30)
		require.NoError(t, err)
		measured, recovery := of("transient_deviation"), of("recovery_time")
		if measured == nil || recovery == nil || step.Recovery == nil {
			t.Logf("%s on %s: %s: not to be compared", member.Name, m.Name, s.Name)
			continue
		}
		dip = max(dip, math.Abs(*step.Deviation / *measured - 1))
		if *recovery > 0.1 {
			back = max(back, math.Abs(*step.Recovery / *recovery - 1))
		}
	}
	return dip, back
}

// margins are, in words, the greatest differences between the margins of the model's loop with a
// machine and those that a sweep of the governor itself measures there, dB and degrees.
// A gain margin beyond the lines that were played is only a bound, and left out.
func margins(t testing.TB, member gallery.Member, a, m *machine.Machine, r *identification.Result) string {
	worstDB, worstDeg := math.Inf(-1), 0.0
	rec := runs(t, member, a, m, "sweep")[0]
	result, err := rec.Result()
	require.NoError(t, err)
	with := *m
	with.Other = r.Model
	p := with.GovernorParams(board.TickHz)
	plant := heli.New(m.HeliParams(), execution.StepTime)
	for _, s := range m.Speeds {
		for load, pitch := range map[measure.Load]float64{measure.Light: float64(m.LoadStep.CollectiveLow), measure.Heavy: float64(m.LoadStep.CollectiveHigh)} {
			l, err := plant.Linearise(float64(s.HeadSpeed), pitch)
			require.NoError(t, err)
			of, err := loop.MarginsOf(func(w float64) complex128 {
				return -p.Response(w, l.EngineSpeed, l.ThrottlePulse) * l.Response(complex(0, w))
			}, loop.Band{Min: 0.02, Max: math.Pi * p.FrameRate})
			require.NoError(t, err)
			got := func(what string) *measure.Measure {
				return result.Get(measure.Key{What: what, Setting: s.Name, Load: load})
			}
			if phase := got("phase_margin"); phase.Value != nil && of.Phase.OK() {
				worstDeg = max(worstDeg, math.Abs(*phase.Value-of.Phase.Value))
			}
			within := slices.ContainsFunc(rec.End.Loops, func(l runlog.Loop) bool {
				return l.Setting == s.Name && l.Load == load && l.PhaseCrossover > 0
			})
			if gain := got("gain_margin"); within && gain.Value != nil && of.Gain.OK() {
				worstDB = max(worstDB, math.Abs(*gain.Value-loop.Decibels(of.Gain.Value)))
			}
		}
	}
	require.Less(t, worstDB, 1.0, m.Name)
	require.Less(t, worstDeg, 5.0, m.Name)
	if math.IsInf(worstDB, 0) {
		return fmt.Sprintf(" –, %.1f° |", worstDeg)
	}
	return fmt.Sprintf(" %.1f dB, %.1f° |", worstDB, worstDeg)
}

func members(names ...string) (some []gallery.Member) {
	for _, m := range gallery.Members() {
		for _, name := range names {
			if m.Name == name {
				some = append(some, m)
			}
		}
	}
	return some
}

// Of laws of another structure what is identified is true, and what it predicts for
// other machines comes to pass: the dip within 10 %, the recovery within 20 %.
func TestKnownOnEveryMachine(t *testing.T) {
	a, b, c := machines(t)
	some := members("pid", "scheduled")
	if *whole {
		some = gallery.Members()
	}
	for _, member := range some {
		t.Run(member.Name, func(t *testing.T) {
			r, err := identification.Of(a, runs(t, member, a, a, "throttle", "sweep"))
			require.NoError(t, err)
			truth := wired(member, a, a).Truth(member.Kind, 1400, 1.5e-3)
			if !truth.Linear || !r.Believed() {
				require.False(t, r.Believed())
				t.Logf("| %s | – | %s |", member.Name, r.Doubts[0])
				return
			}
			db, deg := truths(t, member, a, r)
			row := fmt.Sprintf("| %s | %s | %.2f dB, %.1f° |", member.Name, r.Fit.Order, db, deg)
			for _, m := range []*machine.Machine{b, c} {
				dip, back := shares(t, member, a, m, r)
				row += fmt.Sprintf(" %.0f %%, %.0f %% |", 100*dip, 100*back)
				require.Less(t, dip, 0.10, m.Name)
				require.Less(t, back, 0.20, m.Name)
				if *whole {
					row += margins(t, member, a, m, r)
				}
			}
			t.Log(row)
		})
	}
}

// What has no law that describes it is named, and gets no model that lies.
func TestNoModelThatLies(t *testing.T) {
	a, _, _ := machines(t)
	for name, why := range map[string]string{
		"dead band":     "a wider sway gets more answer: there is a dead band",
		"jitters":       "its throttle pulses come unevenly, off by 15 % of a frame",
		"not governing": "it did not govern in sweep",
	} {
		t.Run(name, func(t *testing.T) {
			r, err := identification.Of(a, runs(t, members(name)[0], a, a, "throttle", "sweep"))
			require.NoError(t, err)
			require.False(t, r.Believed())
			require.Contains(t, r.Doubts[0], why)
			require.Nil(t, r.Model.Law.Gain)
			require.NotContains(t, r.Kind, "law is P")
			require.Empty(t, r.Proof)
		})
	}
}

var drawn = flag.Int("drawn", 2, "how many governors drawn by lot are identified")

// Governors drawn by lot, each on a machine of its own: what is identified is true of
// them, too, or there is none and why.
func TestDrawnByLot(t *testing.T) {
	for seed := range uint64(*drawn) {
		s, err := gallery.NewHealthy(seed, board.TickHz)
		require.NoError(t, err)
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			on := func(g *gallery.Governor) io.ReadWriteCloser { return board.New(board.Options{Governor: g}) }
			r, err := identification.Of(s.Machine, runsOn(t, s.Member, s.Machine, s.Machine, on, "throttle", "sweep"))
			require.NoError(t, err)
			if !r.Believed() {
				t.Logf("| %d | %s | – | %v |", seed, s.Member.About, r.Doubts)
				return
			}
			db, deg := truths(t, s.Member, s.Machine, r)
			t.Logf("| %d | %s | %s | %.2f dB, %.1f° |", seed, s.Member.About, r.Fit.Order, db, deg)
		})
	}
}
