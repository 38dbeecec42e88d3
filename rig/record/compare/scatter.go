package compare

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"govrig/rig/measure"
	"govrig/rig/runlog"
)

// Scatter is how much a measure varies from run to run when nothing has been
// changed on purpose.
type Scatter struct {
	// SD is the standard deviation of one run, pooled over sets of runs made
	// alike: the repeatability standard deviation of ISO 5725-2.
	SD float64
	// Runs is how many runs it comes from, Freedom the degrees of freedom:
	// their number less that of the sets.
	Runs, Freedom int
}

// Limit is the difference between two single runs that chance alone exceeds
// once in twenty times: t·√2·SD with Student's t for the degrees of freedom, at
// 95 % two-sided. For many runs it is the repeatability limit r = 2.8·SD of ISO
// 5725-6:1994, 4.1 (from memory). ok is false when no two runs are alike.
func (s Scatter) Limit() (limit float64, ok bool) {
	if s.Freedom < 1 {
		return 0, false
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(s.Freedom)}.Quantile(0.975)
	return t * math.Sqrt2 * s.SD, true
}

// scatter pools the scatter of a measure over sets of runs made alike.
func scatter(name string, sets [][]measure.Result) (s Scatter) {
	squares := 0.0
	for _, set := range sets {
		var values []float64
		for i := range set {
			if m := set[i].Find(name); m != nil && m.Value != nil {
				values = append(values, *m.Value)
			}
		}
		if len(values) == 0 {
			continue
		}
		s.Runs += len(values)
		s.Freedom += len(values) - 1
		if len(values) > 1 {
			squares += stat.Variance(values, nil) * float64(len(values)-1)
		}
	}
	if s.Freedom > 0 {
		s.SD = math.Sqrt(squares / float64(s.Freedom))
	}
	return s
}

// alike is what runs must have in common for their measures to be put side by
// side.
type alike struct {
	procedure, options, speed, machine string
	virtual                            bool
}

// set is what runs must have in common to be repeats of one another.
type set struct {
	alike
	sum          string
	board        uint8
	major, minor uint8
}

func alikeOf(r *runlog.Record) alike {
	i := &r.Info
	return alike{i.Procedure, string(i.Options), i.Speed, i.Machine, i.Virtual}
}

func setOf(r *runlog.Record) set {
	i := &r.Info
	return set{alikeOf(r), i.MachineSum, i.Identity.Board, i.Identity.FirmwareMajor, i.Identity.FirmwareMinor}
}

// whole reports whether a run came to its end and says something.
func whole(r *runlog.Record) bool {
	return r.Reason() == runlog.Complete && r.End.Outcome != measure.Error
}
