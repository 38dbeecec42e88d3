package identification

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"govrig/rig/advise/predict"
	"govrig/rig/identification/fit"
	"govrig/rig/measure"
	"govrig/rig/measure/response"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

func medium(t *testing.T) *machine.Machine {
	m, err := machine.Load("../../testdata/machines/medium-15cc.yaml")
	require.NoError(t, err)
	return m
}

// empty is a result without anything in it.
func empty() *Result { return &Result{Model: &model.Model{}} }

// The throttle after a loss, by the clock: a sample each 2 ms, frames of 60 a second.
func TestLossOf(t *testing.T) {
	const frame = 1.0 / 60
	course := func(share func(s float64) float64) loss {
		var time, shares []float64
		for s := 0.0; s < 3; s += 0.002 {
			time, shares = append(time, s), append(shares, share(math.Floor(s/frame)*frame))
		}
		return lossOf(time, shares, frame)
	}
	step := course(func(s float64) float64 {
		if s < 0.2 {
			return 0.6
		}
		return 0
	})
	require.True(t, step.closes)
	require.Zero(t, step.fall)
	require.InDelta(t, 0.2, step.time, frame)

	slow := course(func(s float64) float64 { return math.Min(0.6, math.Max(0, 0.6-(s-0.5)/4)) })
	require.InDelta(t, 4, slow.fall, 0.1)
	require.InDelta(t, 0.5, slow.time, 2*frame)
	require.False(t, slow.closes && slow.still)

	require.True(t, course(func(s float64) float64 { return 0.6 + 0.03*math.Sin(9*s) }).still, "it sways, and that is all")
	open := course(func(s float64) float64 { return math.Min(1, 0.6+math.Max(0, s-0.1)) })
	require.True(t, open.opens)
	half := course(func(s float64) float64 { return math.Max(0.3, 0.6-s) })
	require.False(t, half.closes || half.opens || half.still, "halfway is none of them")
}

// What several losses do not have in common is not known.
func TestLossesHaveToAgree(t *testing.T) {
	r := empty()
	r.takeLoss([]loss{{closes: true, time: 0.2, error: 0.005}, {still: true}}, "run")
	require.Empty(t, r.Model.Faults.OnLoss)
	require.Nil(t, r.Model.Faults.LossTime)
	r.takeLoss([]loss{{closes: true, time: 0.2, error: 0.005}, {closes: true, time: 0.22, error: 0.005}}, "run")
	require.Equal(t, "closes", r.Model.Faults.OnLoss)
	require.InDelta(t, 0.21, float64(r.Model.Faults.LossTime.Value), 1e-9)
	require.Nil(t, r.Model.Faults.Fall)
}

// A fault in which it was not safe is noted in the file, one that only misses nothing
// is not.
func TestUnsafeIsNoted(t *testing.T) {
	r := empty()
	r.takeUnsafe(&run{result: measure.Result{Measures: []measure.Measure{
		{Key: measure.Key{What: "time_to_safe", Moment: "pickup_lost"}, Outcome: measure.Pass},
		{Key: measure.Key{What: "pulse_interval_error_worst"}, Outcome: measure.Fail},
	}}})
	require.Empty(t, r.Model.Notes)
	r.takeUnsafe(&run{result: measure.Result{Measures: []measure.Measure{
		{Key: measure.Key{What: "time_to_safe", Moment: "missing_bursts"}, Outcome: measure.Fail},
		{Key: measure.Key{What: "highest_speed", Moment: "missing_bursts"}, Outcome: measure.Fail},
	}}})
	require.Equal(t, []string{"missing bursts"}, r.Unsafe)
	require.Contains(t, r.Model.Notes, "NOT SAFE on the bench in: missing bursts.")
}

// A ramp is one where both its halves rise alike, to 15 %, and not where they do not.
func TestSpoolIsARamp(t *testing.T) {
	course := func(second float64) *Result {
		var time, speed []float64
		for s := 0.0; s < 2; s += 0.01 {
			v := 200 * s
			if s > 1 {
				v = 200 + second*200*(s-1)
			}
			time, speed = append(time, s), append(speed, v)
		}
		r := empty()
		r.takeSpool(time, speed, "run")
		return r
	}
	require.InDelta(t, 200, float64(course(1).Model.Arming.Spool.Value), 1e-6)
	require.NotNil(t, course(0.88).Model.Arming.Spool)
	require.Nil(t, course(0.8).Model.Arming.Spool)
}

// Frames that are nearly even do not doubt a law.
func TestEvenFrames(t *testing.T) {
	at := func(what string, v float64) *Result {
		r := empty()
		r.evenFrames(&run{result: measure.Result{Measures: []measure.Measure{{Key: measure.Key{What: what}, Value: &v}}}})
		return r
	}
	require.Empty(t, at("output_frame_jitter", 1.9).Doubts)
	require.Len(t, at("output_frame_jitter", 2.1).Doubts, 1)
	require.Empty(t, at("output_frames_missing", 0.9).Doubts)
	require.Len(t, at("output_frames_missing", 1.1).Doubts, 1)
}

// A law is believed up to what it may leave, and named as what it is beyond.
func TestJudge(t *testing.T) {
	doubts := func(f fit.Fit) []string {
		r := empty()
		f.Order = fit.Order{fit.Gain, fit.DeadTime}
		r.Fit = &f
		r.judge()
		return r.Doubts
	}
	require.Empty(t, doubts(fit.Fit{Residual: 0.039, Worst: 0.15, Trend: 2}))
	require.Empty(t, doubts(fit.Fit{Residual: 0.019, Worst: 0.15, Trend: 9}))
	require.Contains(t, doubts(fit.Fit{Residual: 0.041, Worst: 0.15})[0], "is the nearest and is off by 4.1 %")
	require.Len(t, doubts(fit.Fit{Residual: 0.03, Worst: 0.17}), 1)
	require.Contains(t, doubts(fit.Fit{Residual: 0.021, Worst: 0.05, Trend: 4.1})[0], "is no scatter")
}

// Only what a second amplitude has shown is said of amplitudes.
func TestAmplitudes(t *testing.T) {
	for kind, said := range map[response.Kind]string{
		response.Linear: "", response.Untold: "", "": "", response.DeadBand: "a dead band", response.Dependent: "no one law describes it",
	} {
		r := empty()
		r.amplitudes(&runlog.Loop{Setting: "hover", Governor: &runlog.Response{Kind: kind}})
		require.Equal(t, said != "", len(r.Doubts) > 0, kind)
		require.Contains(t, strings.Join(r.Doubts, ""), said)
	}
}

// A difference that is within the uncertainty is no finding, and one beyond it is.
func TestDiffer(t *testing.T) {
	differ := func(dip, back float64) []string {
		r := empty()
		r.differ(&Step{Setting: "hover", Measured: Dip{-3, 1.4}, Predicted: Dip{dip, back}, Uncertainty: Dip{0.1, 0.01}})
		return r.Differs
	}
	require.Empty(t, differ(-3.4, 1.6))
	require.Contains(t, differ(-3.5, 1.4)[0], "takes the speed off by -3.0 %, and the law predicts -3.5 %")
	require.Contains(t, differ(-3, 1.8)[0], "is back after 1.4 s, and the law predicts 1.8 s")
}

// The overload of a governor that winds up, and of one that does not, is told for what
// it is; a load that leaves the throttle off its ends tells nothing.
func TestJudgeEnds(t *testing.T) {
	m := medium(t)
	for _, word := range []string{"no", "yes"} {
		for high, told := range map[float64]string{14: word, 6: ""} {
			r := empty()
			r.Model = m.StandInModel()
			r.Model.Law.IntegralTime = model.Known[unit.Time](0.4, 0, "")
			with := *m
			other := *r.Model
			other.Law.WindUp = word
			with.Other = &other
			var load []float64
			for s := 0.0; s < 9; s += predict.Sample {
				degrees := 1.0
				if s > 1 && s < 4 {
					degrees = high
				}
				load = append(load, degrees*math.Pi/180)
			}
			head, err := predict.Follow(&with, m.Speeds[0], load)
			require.NoError(t, err)
			for i := range head.Y {
				head.Y[i] *= math.Pi / 30
			}
			require.NoError(t, r.judgeEnds(m, m.Speeds[0], load, head.Y))
			require.Equal(t, told, r.Model.Law.WindUp, "%s, %g°", word, high)
		}
	}
}

// Runs without hardware count only where there are none with it, void ones never, and
// of two simulated governors that of the newest.
func TestSorted(t *testing.T) {
	m := medium(t)
	record := func(name, started string, virtual bool, standIn any) *runlog.Record {
		w, err := runlog.Create(t.TempDir()+"/"+name, runlog.Info{
			Procedure: "sweep", Started: started, Virtual: virtual, Machine: m.Name, MachineText: m.Text, StandIn: standIn, TickHz: 16e6,
		})
		require.NoError(t, err)
		require.NoError(t, w.Close(runlog.End{Reason: runlog.Complete, Result: &measure.Result{Schema: measure.Schema, Procedure: "sweep", Outcome: measure.Pass, Warnings: []string{}, Measures: []measure.Measure{}}}))
		rec, err := runlog.Open(w.Dir())
		require.NoError(t, err)
		return rec
	}
	real := record("real", "2026-11-01T10:00:00Z", false, nil)
	old := record("old", "2026-11-02T10:00:00Z", true, map[string]int{"Gain": 1})
	other := record("other", "2026-11-03T10:00:00Z", true, map[string]int{"Gain": 2})
	all, err := sorted(m, []*runlog.Record{old, real, other})
	require.NoError(t, err)
	require.Len(t, all.of["sweep"], 1)
	require.Equal(t, "real", all.newest("sweep").Name())
	require.Equal(t, "hardware", all.bench())
	all, err = sorted(m, []*runlog.Record{old, other})
	require.NoError(t, err)
	require.Len(t, all.of["sweep"], 1)
	require.Equal(t, "other", all.newest("sweep").Name())
	require.True(t, all.virtual())
	require.Equal(t, "2026-11-03", all.day())
}
