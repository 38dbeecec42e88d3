package identification

import (
	"fmt"
	"math"

	"govrig/rig/advise/predict"
	"govrig/rig/measure"
	"govrig/rig/phase"
	"govrig/sim/machine"
)

// Step is a load step as the model predicts it and as it was measured, at one speed
// setting.
type Step struct {
	Setting string `json:"setting"`
	Run     string `json:"run"`
	// Predicted and Measured are dip and recovery; Uncertainty is the standard
	// uncertainty of their differences.
	Predicted   Dip `json:"predicted"`
	Measured    Dip `json:"measured"`
	Uncertainty Dip `json:"uncertainty"`
	// PredictedHead and MeasuredHead are the head's speed, rpm, over Time, s from the load.
	Time          []float64 `json:"time_s"`
	PredictedHead []float64 `json:"predicted_head_rpm"`
	MeasuredHead  []float64 `json:"measured_head_rpm"`
}

// Dip is how far a load step takes the speed off, % of the wanted, and the time until
// it is back, s.
type Dip struct {
	Deviation float64 `json:"deviation_percent"`
	Recovery  float64 `json:"recovery_s"`
}

const (
	coverage = 3.0  // standard uncertainties that a difference may have
	leastDip = 0.05 // and what it may have at the least, of the dip itself
	leastRec = 0.1  // and of the recovery
)

// prove predicts each load step that was measured, at the settings that the governor
// held: at another speed it is another load step.
func (r *Result) prove(runs *kept, m *machine.Machine) error {
	if !r.Believed() {
		return nil
	}
	if len(runs.of["loadstep"]) == 0 {
		r.miss("loadstep", "whether the model predicts what a load step does")
		return nil
	}
	with := *m
	with.Other = r.Model
	var spread Dip
	for _, s := range m.Speeds {
		step, run := measuredStep(runs, s)
		if step == nil {
			continue
		}
		curve, err := measuredCurve(run, s.Name)
		if err != nil {
			return err
		}
		length := curve.time[len(curve.time)-1]
		predicted, err := predict.StepOf(&with, s, length)
		if err != nil || predicted.Deviation == nil || predicted.Recovery == nil {
			r.Differs = append(r.Differs, fmt.Sprintf("%s: with the law the speed does not come back from the load step within %.0f s, and it did on the bench", s.Name, length))
			continue
		}
		if spread == (Dip{}) {
			spread = r.spread(m, s, predicted, length)
		}
		step.Predicted = Dip{*predicted.Deviation, *predicted.Recovery}
		step.Uncertainty.Deviation = math.Hypot(step.Uncertainty.Deviation, spread.Deviation)
		step.Uncertainty.Recovery = math.Hypot(step.Uncertainty.Recovery, spread.Recovery)
		step.curves(curve, predicted.Head)
		r.Proof = append(r.Proof, *step)
		r.differ(step)
	}
	switch {
	case len(r.Differs) > 0:
		r.Model.Fit.LoadStep = "differs"
	case len(r.Proof) > 0:
		r.Model.Fit.LoadStep = "agrees"
	}
	return nil
}

// heldWithin is how far off the wanted speed a load step may have been, a share.
const heldWithin = 0.01

// measuredStep is the newest load step that was measured at a setting; nil is none.
func measuredStep(runs *kept, s machine.SpeedSetting) (*Step, *run) {
	for _, run := range runs.of["loadstep"] {
		of := func(what string) *measure.Measure {
			return run.result.Get(measure.Key{What: what, Setting: s.Name, Moment: measure.LoadOn})
		}
		dip, back := of("transient_deviation"), of("recovery_time")
		if dip == nil || back == nil || dip.Value == nil || back.Value == nil {
			continue
		}
		const rpm = 30 / math.Pi
		if head, ok := run.value("head_speed", s.Name); !ok || math.Abs(head/(float64(s.HeadSpeed)*rpm)-1) > heldWithin {
			continue
		}
		step := &Step{Setting: s.Name, Run: run.Name(), Measured: Dip{*dip.Value, *back.Value}}
		if band, ok := run.value("steady_state_speed_band", s.Name); ok {
			step.Uncertainty.Deviation = band / math.Sqrt(6) // of the mean before and of the extreme, each band/√12
		}
		return step, run
	}
	return nil, nil
}

// spread is how uncertain the prediction at a setting is, by the uncertainty of each
// term of the law (JCGM 100, 5.1.2: the sum of squares of what each makes).
func (r *Result) spread(m *machine.Machine, s machine.SpeedSetting, at *predict.Step, length float64) (d Dip) {
	for _, t := range r.Fit.Order {
		moved := *r
		shifted := *r.Fit
		shifted.Law[t] += shifted.Error[t]
		model := *r.Model
		moved.Fit, moved.Model = &shifted, &model
		moved.takeLaw("")
		with := *m
		with.Other = moved.Model
		step, err := predict.StepOf(&with, s, length)
		if err != nil || step.Deviation == nil || step.Recovery == nil {
			continue
		}
		d.Deviation = math.Hypot(d.Deviation, *step.Deviation-*at.Deviation)
		d.Recovery = math.Hypot(d.Recovery, *step.Recovery-*at.Recovery)
	}
	return d
}

// measuredCurve is what the load step of a setting looked like.
func measuredCurve(run *run, setting string) (stretch, error) {
	all, err := stretches(run.Record, func(k phase.Key) bool {
		return k.Kind == phase.LoadOn && (k.Setting == setting || k.Setting == "") && !k.Void
	})
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("%s has no samples of its load step at %s", run.Name(), setting)
	}
	if err != nil {
		return stretch{}, err
	}
	return all[len(all)-1], nil
}

// every is how many samples of the record make one of a curve.
const every = 10

// curves puts the curves over one another.
func (s *Step) curves(measured stretch, predicted measure.Series) {
	const rpm = 30 / math.Pi
	for i := 0; i < len(measured.time); i += every {
		at := measured.time[i]
		s.Time = append(s.Time, at)
		s.MeasuredHead = append(s.MeasuredHead, measured.head[i]*rpm)
		k := min(int(math.Round((at+predict.Lead)/predict.Sample)), predicted.Len()-1)
		s.PredictedHead = append(s.PredictedHead, predicted.Y[k])
	}
}

// differ says where the model and the bench do not agree.
func (r *Result) differ(s *Step) {
	dip := s.Predicted.Deviation - s.Measured.Deviation
	allowed := coverage*s.Uncertainty.Deviation + leastDip*math.Abs(s.Measured.Deviation)
	if math.Abs(dip) > allowed {
		r.Differs = append(r.Differs, fmt.Sprintf("%s: the load step takes the speed off by %.1f %%, and the law predicts %.1f %%: the governor is not what its answer over frequency says",
			s.Setting, s.Measured.Deviation, s.Predicted.Deviation))
	}
	back := s.Predicted.Recovery - s.Measured.Recovery
	if math.Abs(back) > coverage*s.Uncertainty.Recovery+leastRec*s.Measured.Recovery+recoverySlack {
		r.Differs = append(r.Differs, fmt.Sprintf("%s: the speed is back after %.2g s, and the law predicts %.2g s: the governor is not what its answer over frequency says",
			s.Setting, s.Measured.Recovery, s.Predicted.Recovery))
	}
}

// recoverySlack is by how much a recovery scatters by itself, s: it ends where the
// speed crosses the edge of a band for the last time, on a slope.
const recoverySlack = 0.15
