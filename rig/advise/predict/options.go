package predict

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"govrig/sim/air"
	"govrig/sim/heli"
	"govrig/sim/linkage"
	"govrig/sim/machine"
)

// The usual grid: gains from half of the stand-in's up to well beyond where
// most machines hunt, integral times from a quarter of its own, both in steps of
// half an octave.
const (
	usualGains, ownGain = 12, 2
	usualTimes, ownTime = 8, 4
)

// complete fills in what was left out and finds the speed setting.
func (o *Options) complete(m *machine.Machine) (machine.SpeedSetting, error) {
	own := m.GovernorParams(tickRate)
	if len(o.Gains) == 0 {
		if own.Gain == 0 {
			return machine.SpeedSetting{}, errors.New("the stand-in's proportional gain is 0: name the gains to try")
		}
		o.Gains = around(own.Gain, ownGain, usualGains)
	}
	if len(o.Times) == 0 {
		switch {
		case own.IntegralTime > 0:
			o.Times = around(own.IntegralTime, ownTime, usualTimes)
		case m.Other != nil: // a governor that has no integral
			o.Times = []float64{0}
		default:
			return machine.SpeedSetting{}, errors.New("the stand-in has no integral time: name the times to try")
		}
	}
	if o.Progress == nil {
		o.Progress = func(int, int) {}
	}
	if err := o.validate(); err != nil {
		return machine.SpeedSetting{}, err
	}
	if o.Speed == "" {
		return m.Speeds[0], nil
	}
	s, ok := m.Speed(o.Speed)
	if !ok {
		return s, fmt.Errorf("%s has no speed setting %q; it has %s", m.File, o.Speed, names(m.Speeds))
	}
	return s, nil
}

func names(speeds machine.Speeds) string {
	all := make([]string, len(speeds))
	for i, s := range speeds {
		all[i] = fmt.Sprintf("%q", s.Name)
	}
	return strings.Join(all, ", ")
}

// validate refuses gains and times that no governor has.
func (o *Options) validate() error {
	const mostGain, mostTime = 1e5 / perKrpm, 100.0
	for _, gain := range o.Gains {
		if !(gain > 0 && gain <= mostGain) {
			return fmt.Errorf("a gain of %.4g %%/krpm is not within 0 to 100000", gain*perKrpm)
		}
	}
	for _, time := range o.Times {
		if !(time == 0 || time >= 0.001 && time <= mostTime) {
			return fmt.Errorf("an integral time of %.4g s is not within 0.001 to 100; 0 leaves the integral out", time)
		}
	}
	return nil
}

// form is a form of the machine.
type form struct {
	name   string
	params heli.Params
}

// forms are the machine of the file and each variation asked for.
func (o *Options) forms(m *machine.Machine) ([]form, error) {
	own := m.HeliParams()
	own.Engine.Variation, own.Engine.Misfire = 0, 0
	all := []form{{"as in the machine file", own}}
	for _, rod := range o.Rods {
		table, err := throttle(m, rod)
		if err != nil {
			return nil, fmt.Errorf("rod of %.1f mm: %w", 1000*rod, err)
		}
		p := own
		p.Throttle = table
		all = append(all, form{fmt.Sprintf("rod %.1f mm", 1000*rod), p})
	}
	for _, place := range o.Airs {
		p := own
		var err error
		if p.Air, err = air.At(place.Altitude, place.Temperature, own.Air.Humidity); err != nil {
			return nil, err
		}
		if err := p.Validate(); err != nil {
			return nil, err
		}
		all = append(all, form{fmt.Sprintf("air at %.0f m, %.0f °C", place.Altitude, place.Temperature-273.15), p})
	}
	return all, nil
}

// throttle is the open share over the servo's pulse width with another rod.
func throttle(m *machine.Machine, rod float64) ([]float64, error) {
	p := m.LinkageParams()
	p.Rod = rod
	l, err := linkage.New(p)
	if err != nil {
		return nil, err
	}
	table, err := l.Table(len(m.HeliParams().Throttle))
	if err == nil && m.Servo.ClosedPulse > m.Servo.OpenPulse {
		slices.Reverse(table)
	}
	return table, err
}
