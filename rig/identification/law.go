package identification

import (
	"errors"
	"strings"

	"govrig/rig/identification/fit"
	"govrig/rig/measure/response"
	"govrig/rig/runlog"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// What a law may leave of what was measured and still be believed: 0.35 dB or 2.3° on
// the whole and 1.4 dB or 9° at one line, and half of the first where what is left
// is no scatter. The tests of the gallery hold it to 0.5 dB and 3°.
const (
	mostResidual = 0.04
	mostWorst    = 0.16
	mostTrend    = 4.0 // standard deviations
	smallEnough  = mostResidual / 2
)

// readLaw fits the law to the frequency responses of the sweeps.
func (r *Result) readLaw(runs *kept, m *machine.Machine) error {
	sweeps := runs.of["sweep"]
	if len(sweeps) == 0 {
		r.miss("sweep", "the law that it governs by")
		return nil
	}
	if r.Model.Throttle.FrameRate == nil {
		r.doubt("the rate of its throttle pulses is not known, and without it nor what they add to its answer")
		return nil
	}
	output := fit.Output{Closed: float64(m.Servo.ClosedPulse), Open: float64(m.Servo.OpenPulse), Frame: 1 / float64(r.Model.Throttle.FrameRate.Value)}
	origin := r.collect(sweeps, output)
	if len(r.Sets) == 0 {
		if len(r.Doubts) == 0 {
			r.doubt("%s", unmeasured(sweeps[0]))
		}
		return nil
	}
	found, err := fit.Find(r.Sets)
	if errors.Is(err, fit.ErrLines) {
		r.doubt("its answer to the sways of a sweep is that of no law: %v", err)
		return nil
	}
	if err != nil {
		return err
	}
	r.Fit = found
	if len(r.Doubts) == 0 {
		r.judge()
	}
	if len(r.Doubts) == 0 {
		r.takeLaw(origin)
	}
	return nil
}

// unmeasured says why a sweep has no frequency response, in its own words where it has
// some.
func unmeasured(run *run) string {
	const none = "the sweep could measure no answer of it"
	if len(run.End.Found) == 0 {
		return none
	}
	return none + "; it says: " + strings.TrimSuffix(run.End.Found[0], ".")
}

// collect takes the newest response of each setting and load, and gives the run of
// the first.
func (r *Result) collect(sweeps []*run, output fit.Output) (origin string) {
	done := map[string]bool{}
	for _, run := range sweeps {
		if engaged, ok := run.value("governor_engaged", ""); ok && engaged == 0 {
			r.doubt("it did not govern in %s", run.Name())
			continue
		}
		for _, l := range run.End.Loops {
			key := l.Setting + "/" + string(l.Load)
			if l.Governor == nil || done[key] {
				continue
			}
			done[key] = true
			if origin == "" {
				origin = run.Name()
			}
			r.amplitudes(&l)
			if points := l.Governor.Points(); len(points) > 0 {
				r.Sets = append(r.Sets, fit.NewSet(l.Name, points, l.Governor.Engine, l.Governor.Throttle, output))
			}
		}
	}
	return origin
}

// amplitudes doubts a law where two amplitudes do not get the same answer.
func (r *Result) amplitudes(l *runlog.Loop) {
	switch l.Governor.Kind {
	case response.DeadBand:
		r.doubt("at %s a wider sway gets more answer: there is a dead band, or a limit cycle that the sway drowns", l.Setting)
	case response.Dependent:
		r.doubt("at %s the answer depends on how far the speed sways, so that no one law describes it", l.Setting)
	}
}

// judge doubts a law that does not describe what was measured.
func (r *Result) judge() {
	f := r.Fit
	switch {
	case f.Residual > mostResidual || f.Worst > mostWorst:
		r.doubt("a %s law is the nearest and is off by %.2g %% on the whole and by %.2g %% at one line", f.Order, 100*f.Residual, 100*f.Worst)
	case f.Trend > mostTrend && f.Residual > smallEnough:
		r.doubt("a %s law is the nearest, and what it leaves is no scatter: neighbouring lines are off alike, by %.2g %% on the whole", f.Order, 100*f.Residual)
	}
}

// takeLaw puts the law into the model.
func (r *Result) takeLaw(run string) {
	f := r.Fit
	known := func(t fit.Term) (value, uncertainty float64, from string) { return f.Law[t], f.Error[t], run }
	law, measuring := &r.Model.Law, &r.Model.Measuring
	for _, t := range f.Order {
		v, u, from := known(t)
		switch t {
		case fit.Gain:
			law.Gain = model.Known[unit.Gain](v, u, from)
		case fit.IntegralTime:
			law.IntegralTime = model.Known[unit.Time](v, u, from)
		case fit.Derivative:
			law.DerivativeTime = model.Known[unit.Time](v, u, from)
		case fit.DerivativeLag:
			law.DerivativeLag = model.Known[unit.Time](v, u, from)
		case fit.Rise:
			law.GainRise = model.Known[unit.Share](v, u, from)
		case fit.DeadTime:
			measuring.DeadTime = model.Known[unit.Time](v, u, from)
		case fit.Turns:
			measuring.Turns = model.Known[float64](v, u, from)
		case fit.MeasureLag:
			measuring.Lag = model.Known[unit.Time](v, u, from)
		}
	}
	lines := -f.LeftOut
	for _, s := range r.Sets {
		lines += len(s.Lines)
	}
	r.Model.Fit = model.Fit{Residual: unit.Share(f.Residual), Worst: unit.Share(f.Worst), Lines: lines}
}
