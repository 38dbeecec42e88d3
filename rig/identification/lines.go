package identification

import (
	"math"

	"govrig/rig/measure"
	"govrig/sim/machine"
	"govrig/sim/standin/governor/model"
	"govrig/sim/unit"
)

// Standard uncertainties of what the throttle procedure reads. A value that is only
// known to lie within a width has that over √12 (JCGM 100, 4.3.7, from memory).
var (
	tickError = 62.5e-9 / math.Sqrt(12) // of an edge, s
	armError  = 0.001 / math.Sqrt(12)   // of a threshold, which is halved down to a thousandth of the travel
)

// readThrottle reads the throttle line and when governing is taken up.
func (r *Result) readThrottle(runs *kept, _ *machine.Machine) error {
	run := runs.newest("throttle")
	if run == nil {
		r.miss("throttle", "arming, frames, steps and ends")
		return nil
	}
	name, m := run.Name(), r.Model
	if v, ok := run.value("throttle_closed_end", ""); ok {
		m.Throttle.Closed = model.Known[unit.Time](1e-6*v, tickError, name)
	}
	if v, ok := run.value("throttle_open_end", ""); ok {
		m.Throttle.Open = model.Known[unit.Time](1e-6*v, tickError, name)
	}
	if v, ok := run.value("output_frame_rate", ""); ok {
		m.Throttle.FrameRate = model.Known[unit.Frequency](v, v*v*tickError, name)
	}
	if v, ok := run.value("output_step", ""); ok {
		m.Throttle.Step = model.Known[unit.Time](1e-6*v, tickError, name)
	}
	if v, ok := run.value("arming_threshold", ""); ok {
		m.Arming.On = model.Known[unit.Share](v/100, armError, name)
	}
	if v, ok := run.value("release_threshold", ""); ok {
		m.Arming.Off = model.Known[unit.Share](v/100, armError, name)
	}
	r.evenFrames(run)
	return nil
}

const (
	mostJitter  = 2.0 // % of a frame
	mostMissing = 1.0 // % of the frames
)

// evenFrames doubts a law whose output does not come evenly.
func (r *Result) evenFrames(run *run) {
	if jitter, ok := run.value("output_frame_jitter", ""); ok && jitter > mostJitter {
		r.doubt("its throttle pulses come unevenly, off by %.2g %% of a frame; a model with even ones would be better than it is", jitter)
	}
	if missing, ok := run.value("output_frames_missing", ""); ok && missing > mostMissing {
		r.doubt("%.2g %% of its throttle pulses are missing; a model with all of them would be better than it is", missing)
	}
}

// readSetting reads which select pulse holds which speed, of the settings that were
// held.
func (r *Result) readSetting(runs *kept, m *machine.Machine) error {
	if len(runs.of["hold"]) == 0 {
		r.miss("hold", "which select pulse holds which speed")
	}
	for _, s := range m.Speeds {
		for _, run := range runs.of["hold"] {
			if p, ok := pointOf(run, s.Name); ok {
				r.Model.Setting.Points = append(r.Model.Setting.Points, p)
				break
			}
		}
	}
	return nil
}

// pointOf is the select pulse and the speed that a run of hold held at a setting. The
// speed lies within the steady band, in % of the wanted speed.
func pointOf(run *run, setting string) (p model.Point, ok bool) {
	taken := func(what string) (v float64) {
		m := run.result.Get(measure.Key{What: what, Setting: setting})
		if ok = ok && m != nil && m.Value != nil && m.Outcome == measure.Pass; ok {
			v = *m.Value
		}
		return v
	}
	ok = true
	width, rpm := taken("select_width"), taken("governed_speed")
	taken("speed_setting_error")
	band := taken("steady_state_speed_band")
	const perRPM = math.Pi / 30
	return model.Point{
		Pulse: unit.Time(1e-6 * width), Speed: unit.Speed(rpm * perRPM),
		Uncertainty: unit.Speed(rpm * perRPM * band / 100 / math.Sqrt(12)), Run: run.Name(),
	}, ok
}

// readRiding reads over how many odd pickup pulses it rides.
func (r *Result) readRiding(runs *kept, _ *machine.Machine) error {
	run := runs.newest("accept")
	if run == nil {
		r.miss("accept", "over how many missing and stray pulses it rides")
		return nil
	}
	if v, ok := run.value("missing_pulses_ridden_over", ""); ok {
		r.Model.Faults.Missing = model.Known[float64](v, 0, run.Name())
	}
	if v, ok := run.value("stray_pulses_ridden_over", ""); ok {
		r.Model.Faults.Stray = model.Known[float64](v, 0, run.Name())
	}
	return nil
}
