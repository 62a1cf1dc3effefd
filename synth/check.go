package synth

import (
	"errors"
	"fmt"
	"math"
	"reflect"

	"beatwright/unit"
)

// Limits of a scene's numbers by their quantity: wide of anything that could
// be meant, so that a slip is told and no sound runs away. Chosen.
var limits = map[reflect.Type]float64{
	reflect.TypeFor[unit.Seconds]():       1e8,
	reflect.TypeFor[unit.Milliseconds]():  2000,
	reflect.TypeFor[unit.Degrees]():       720,
	reflect.TypeFor[unit.Hertz]():         1e6,
	reflect.TypeFor[unit.Decibels]():      200,
	reflect.TypeFor[unit.SecondsPerDay](): 40000,
	reflect.TypeFor[unit.BeatsPerHour]():  100000,
	reflect.TypeFor[unit.PPM]():           20000,
}

// otherLimit holds for bare numbers: shares, angles in rad, events a minute.
const otherLimit = 10000

const minRate, maxRate unit.Hertz = 8000, 768000

// Validate tells what is wrong with a scene; nil if it can be rendered.
func (s Scene) Validate() error {
	if err := checkNumbers(reflect.ValueOf(s), "scene"); err != nil {
		return err
	}
	s = s.withDefaults()
	switch {
	case s.Rate < minRate || s.Rate > maxRate:
		return fmt.Errorf("sampling rate %g Hz is outside %g to %g", float64(s.Rate), float64(minRate), float64(maxRate))
	case s.Duration < 0:
		return fmt.Errorf("duration %g s is below 0", float64(s.Duration))
	case s.Bits < 0 || s.Bits > 32:
		return fmt.Errorf("%d bits a sample are outside 0 to 32", s.Bits)
	case len(s.Channels) > 32:
		return fmt.Errorf("%d channels are more than 32", len(s.Channels))
	case s.ClipAt < 0 || s.ClipAt > 1:
		return fmt.Errorf("clipping at %g of full scale is outside 0 to 1", s.ClipAt)
	}
	if s.Watch != nil {
		if err := s.Watch.validate(); err != nil {
			return fmt.Errorf("watch: %w", err)
		}
	}
	if s.Second != nil {
		if err := s.Second.Watch.validate(); err != nil {
			return fmt.Errorf("second watch: %w", err)
		}
	}
	return s.validateSounds()
}

// checkNumbers finds a number that is none, or out of all measure.
func checkNumbers(v reflect.Value, name string) error {
	switch v.Kind() {
	case reflect.Float64:
		limit, ok := limits[v.Type()]
		if !ok {
			limit = otherLimit
		}
		if x := v.Float(); !(math.Abs(x) <= limit) {
			return fmt.Errorf("%s: %g is beyond ±%g", name, x, limit)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			return checkNumbers(v.Elem(), name)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			if err := checkNumbers(v.Index(i), fmt.Sprintf("%s %d", name, i+1)); err != nil {
				return err
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if err := checkNumbers(v.Field(i), name+", "+v.Type().Field(i).Name); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s Scene) validateSounds() error {
	for _, n := range s.Noise {
		if err := n.validate(); err != nil {
			return err
		}
	}
	for _, o := range s.Others {
		if err := o.validate(); err != nil {
			return err
		}
	}
	for _, h := range s.Hum {
		if h.Frequency < 0 || h.Harmonics < 0 || h.Harmonics > 1000 {
			return fmt.Errorf("hum of %g Hz with %d overtones", float64(h.Frequency), h.Harmonics)
		}
	}
	for _, e := range s.Events {
		if e.Kind != Knock && e.Kind != Rub {
			return fmt.Errorf("event %q is neither %s nor %s", e.Kind, Knock, Rub)
		}
	}
	if s.Bursts != nil {
		if err := (Noise{Kind: s.Bursts.Kind}).validate(); err != nil {
			return fmt.Errorf("bursts: %w", err)
		}
	}
	for _, e := range s.Edits {
		if e.At < 0 || e.Gap < 0 || e.Zeros < 0 {
			return errors.New("an edit lies before the file or has a negative length")
		}
	}
	return nil
}

// Limits of a watch; chosen.
const (
	minBeats, maxBeats unit.BeatsPerHour = 1000, 100000
	maxLift            unit.Degrees      = 120
	maxSwing           unit.Degrees      = 400
	maxJitter          unit.Milliseconds = 20
	maxHandling        unit.Seconds      = 120
	maxTeeth                             = 1000
)

func (w Watch) validate() error {
	w = w.withDefaults()
	beat := w.BeatsPerHour.Beat()
	switch {
	case w.BeatsPerHour < minBeats || w.BeatsPerHour > maxBeats:
		return fmt.Errorf("%g beats an hour are outside %g to %g", float64(w.BeatsPerHour), float64(minBeats), float64(maxBeats))
	case w.Lift <= 0 || w.Lift > maxLift:
		return fmt.Errorf("lift %g° is outside 0 to %g", float64(w.Lift), float64(maxLift))
	case w.Swing.Start <= 0 || w.Swing.Start > maxSwing:
		return fmt.Errorf("amplitude %g° is outside 0 to %g", float64(w.Swing.Start), float64(maxSwing))
	case !inQuarter(w.BeatError, beat):
		return fmt.Errorf("beat error %g ms is over a quarter of a beat", float64(w.BeatError))
	case w.EscapeTeeth < 1 || w.EscapeTeeth > maxTeeth:
		return fmt.Errorf("an escape wheel of %d teeth", w.EscapeTeeth)
	case w.FirstAt < 0 || w.Stop < 0 || w.Fade < 0:
		return errors.New("a time of start, stop or fading is below 0")
	}
	checks := []error{w.Swing.validate(), w.Jitter.validate(), w.validateTurns(beat), w.validateTrain(), w.validateModes(), w.validateStrikes()}
	return errors.Join(checks...)
}

func inQuarter(e unit.Milliseconds, beat unit.Seconds) bool {
	return math.Abs(float64(e.Seconds())) < float64(beat)/4
}

func (j Jitter) validate() error {
	for _, x := range []unit.Milliseconds{j.Centre, j.Unlocking, j.Impulse, j.Drop, j.Slow} {
		if x < 0 || x > maxJitter {
			return fmt.Errorf("jitter of %g ms is outside 0 to %g", float64(x), float64(maxJitter))
		}
	}
	if j.Memory < 0 || j.Memory >= 1 {
		return fmt.Errorf("memory %g of the slow jitter is outside 0 to below 1", j.Memory)
	}
	return nil
}

func (w Watch) validateTurns(beat unit.Seconds) error {
	last := unit.Seconds(0)
	for _, s := range w.RateSteps {
		if s.At < last {
			return errors.New("the rate steps are not in the order of their times")
		}
		last = s.At
	}
	last = 0
	for _, t := range w.Turns {
		switch {
		case t.At < last:
			return errors.New("the turns are not in the order of their times")
		case t.Handling < 0 || t.Handling > maxHandling:
			return fmt.Errorf("handling of %g s is outside 0 to %g", float64(t.Handling), float64(maxHandling))
		case !inQuarter(t.BeatError, beat):
			return fmt.Errorf("beat error %g ms is over a quarter of a beat", float64(t.BeatError))
		case math.Abs(float64(t.Phase.Seconds())) > float64(beat):
			return fmt.Errorf("a jump of %g ms is more than a beat", float64(t.Phase))
		case t.Amplitude < 0 || t.Amplitude > maxSwing || t.Settling < 0:
			return fmt.Errorf("a turn to %g° in %g s", float64(t.Amplitude), float64(t.Settling))
		}
		last = t.At
	}
	return nil
}

func (w Watch) validateTrain() error {
	for _, v := range w.Waves {
		switch {
		case v.Period < 1e-3:
			return fmt.Errorf("a wave of period %g s", float64(v.Period))
		case math.Abs(float64(v.Peak)) > float64(maxJitter):
			return fmt.Errorf("a wave of %g ms is over %g", float64(v.Peak), float64(maxJitter))
		case v.Shape != "" && v.Shape != Sine && v.Shape != Pulse:
			return fmt.Errorf("wave %q is neither %s nor %s", v.Shape, Sine, Pulse)
		case v.Width < 0 || v.Width > 1:
			return fmt.Errorf("a wave filling %g of its period", v.Width)
		}
	}
	for _, e := range w.ToothErrors {
		if math.Abs(float64(e)) > float64(maxJitter) {
			return fmt.Errorf("a tooth %g ms out is over %g", float64(e), float64(maxJitter))
		}
	}
	return nil
}

func (w Watch) validateModes() error {
	modes := append([]Mode(nil), w.Case...)
	for _, s := range w.Sides {
		for _, x := range s.all() {
			if x.Attack < 0 {
				return fmt.Errorf("attack of %g ms", float64(x.Attack))
			}
			modes = append(modes, x.Modes...)
		}
	}
	for _, m := range modes {
		if m.Frequency <= 0 || m.Decay < 1e-3 {
			return fmt.Errorf("a resonance of %g Hz dying in %g ms", float64(m.Frequency), float64(m.Decay))
		}
	}
	return nil
}

func (w Watch) validateStrikes() error {
	strikes := append(append([]Strike(nil), w.After...), w.Echoes...)
	for _, s := range w.Sides {
		for _, x := range s.all() {
			strikes = append(strikes, x.Strikes...)
		}
	}
	for _, k := range strikes {
		if k.After < 0 {
			return fmt.Errorf("a strike %g ms before its sound", -float64(k.After))
		}
	}
	return nil
}
