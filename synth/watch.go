package synth

import "beatwright/unit"

// Watch is a movement and how it sounds. The zero Watch is a sound one:
// 28 800 beats an hour, lift 52°, swinging 270°, rate 0, in beat.
type Watch struct {
	// BeatsPerHour is the nominal beat rate; 0 is 28 800.
	BeatsPerHour unit.BeatsPerHour `json:"beats_per_hour,omitempty"`
	// Lift is the lift angle; 0 is 52.
	Lift unit.Degrees `json:"lift_deg,omitempty"`
	// LiftShift moves the lift along the swing: unlocking at −λ/2 + shift,
	// drop at λ/2 + shift from the line of centres, on both sides.
	LiftShift unit.Degrees `json:"lift_shift_deg,omitempty"`
	// ImpulseAt is where the impulse sounds, by side, as a share of the way
	// (in angle) from unlocking to drop; 0 is 0.3.
	ImpulseAt [2]float64 `json:"impulse_at,omitzero"`
	// Swing is the amplitude and its course.
	Swing Swing `json:"swing,omitzero"`
	// Rate is at the start, RateSteps are what it becomes later.
	Rate      unit.SecondsPerDay `json:"rate_s_per_day"`
	RateSteps []RateStep         `json:"rate_steps,omitempty"`
	// BeatError is half the difference of alternate beats, by the crossings
	// of the line of centres at the amplitude of the start; + puts the first
	// side's crossing late. It fixes the angle β = A·sin(π·e/T), which stays
	// while the amplitude changes.
	BeatError unit.Milliseconds `json:"beat_error_ms"`
	// Jitter is random, Waves and Teeth are periodic displacement.
	Jitter Jitter `json:"jitter,omitzero"`
	Waves  []Wave `json:"waves,omitempty"`
	// EscapeTeeth is the count of the escape wheel; 0 is 15.
	EscapeTeeth int `json:"escape_teeth,omitempty"`
	// ToothErrors displace the beats of each tooth, from the first tooth;
	// teeth beyond the list have none.
	ToothErrors []unit.Milliseconds `json:"tooth_errors_ms,omitempty"`

	// Sides are the sounds of the two beats; a side without resonances is
	// the plain one, a second side without them is as the first.
	Sides [2]Side `json:"sides,omitzero"`
	// Case are resonances that every strike rings, their levels re the
	// strike.
	Case []Mode `json:"case,omitempty"`
	// After are small sounds after the drop, levels re the drop.
	After []Strike `json:"after,omitempty"`
	// Echoes repeat the whole watch later.
	Echoes []Strike `json:"echoes,omitempty"`
	// LevelJitter is the beat-to-beat scatter of each sound's level, dB rms.
	LevelJitter unit.Decibels `json:"level_jitter_db,omitempty"`
	// SpeedPower makes a sound's pressure follow the balance's speed at that
	// moment, re the speed at the start, to this power; 0 is not at all.
	SpeedPower float64 `json:"speed_power,omitempty"`
	// PhaseSpread draws each resonance's phase anew for every strike from
	// ± this, rad: 0 is one waveform for all beats, π is none alike.
	PhaseSpread float64 `json:"phase_spread_rad,omitempty"`

	// FirstAt is when the first beat's balance crosses rest, s.
	FirstAt unit.Seconds `json:"first_at_s,omitempty"`
	// Stop is when the watch is stopped; 0 is never. Fade 0 stops it dead,
	// else its swing falls with this time constant until it no longer
	// unlocks.
	Stop unit.Seconds `json:"stop_s,omitempty"`
	Fade unit.Seconds `json:"fade_s,omitempty"`
	// Turns are changes of position.
	Turns []Turn `json:"turns,omitempty"`
}

// Side is the sound of one of the two beats.
type Side struct {
	Unlocking Sound `json:"unlocking,omitzero"`
	Impulse   Sound `json:"impulse,omitzero"`
	Drop      Sound `json:"drop,omitzero"`
}

// Sound is one of the three sounds of a beat.
type Sound struct {
	// Level is that of the envelope's peak within 2.5–18 kHz, dB re the
	// drop: the mean power of both sides' drops is the scene's level.
	Level unit.Decibels `json:"level_db"`
	// Absent leaves the sound out; its time stays in the truth.
	Absent bool `json:"absent,omitempty"`
	// Attack is the time constant of the rise, 1 − exp(−t/attack); 0 is
	// abrupt. The time of a sound is where its rise begins.
	Attack unit.Milliseconds `json:"attack_ms,omitempty"`
	// Modes are the resonances.
	Modes []Mode `json:"modes,omitempty"`
	// Strikes are the single blows; none is one at 0. The level of the
	// sound is that of a strike of 0 dB.
	Strikes []Strike `json:"strikes,omitempty"`
}

// Mode is a damped resonance: exp(−t/decay)·sin(2πft + phase).
type Mode struct {
	Frequency unit.Hertz        `json:"hz"`
	Decay     unit.Milliseconds `json:"decay_ms"`
	Level     unit.Decibels     `json:"level_db"`
	// Phase at the start, rad.
	Phase float64 `json:"phase_rad,omitempty"`
}

// Strike is a blow some time after the first.
type Strike struct {
	After unit.Milliseconds `json:"after_ms"`
	Level unit.Decibels     `json:"level_db"`
}

// Jitter is random displacement of the sounds in time, rms. All are normal.
type Jitter struct {
	// Centre moves the whole beat, each beat on its own.
	Centre unit.Milliseconds `json:"centre_ms,omitempty"`
	// Unlocking, Impulse and Drop move one sound each.
	Unlocking unit.Milliseconds `json:"unlocking_ms,omitempty"`
	Impulse   unit.Milliseconds `json:"impulse_ms,omitempty"`
	Drop      unit.Milliseconds `json:"drop_ms,omitempty"`
	// Slow moves the whole beat and remembers itself from beat to beat by
	// Memory (first-order autoregression, 0 to below 1).
	Slow   unit.Milliseconds `json:"slow_ms,omitempty"`
	Memory float64           `json:"memory,omitempty"`
	// Swing scatters the amplitude.
	Swing unit.Degrees `json:"swing_deg,omitempty"`
}

// Shapes of a Wave.
const (
	Sine  = "sine"
	Pulse = "pulse"
)

// Wave is a periodic fault of the train: it moves the beats by Peak and the
// amplitude by Swing.
type Wave struct {
	Period unit.Seconds      `json:"period_s"`
	Peak   unit.Milliseconds `json:"peak_ms,omitempty"`
	Swing  unit.Degrees      `json:"swing_deg,omitempty"`
	// Phase at time 0, rad.
	Phase float64 `json:"phase_rad,omitempty"`
	// Shape is Sine, or Pulse: one raised cosine filling Width of the
	// period (a bad leaf); empty is Sine.
	Shape string `json:"shape,omitempty"`
	// Width is a share of the period; 0 is 0.1.
	Width float64 `json:"width,omitempty"`
}

// RateStep changes the rate from a time on.
type RateStep struct {
	At   unit.Seconds       `json:"at_s"`
	Rate unit.SecondsPerDay `json:"rate_s_per_day"`
}

// Turn puts the watch into another position.
type Turn struct {
	At unit.Seconds `json:"at_s"`
	// Handling is how long knocks and rubbing are heard; 0 is none.
	Handling unit.Seconds `json:"handling_s,omitempty"`
	// HandlingLevel is dB re the drop; 0 is −6.
	HandlingLevel unit.Decibels `json:"handling_level_db,omitempty"`
	// Amplitude is what the swing comes to, with the time constant Settling
	// (0 is 20 s); 0 keeps its course.
	Amplitude unit.Degrees `json:"amplitude_deg,omitempty"`
	Settling  unit.Seconds `json:"settling_s,omitempty"`
	// Rate and BeatError are in the new position.
	Rate      unit.SecondsPerDay `json:"rate_s_per_day"`
	BeatError unit.Milliseconds  `json:"beat_error_ms"`
	// Phase is a jump of the beat, as a wrist's turn gives the balance.
	Phase unit.Milliseconds `json:"phase_ms,omitempty"`
}

// plainSide is the sound of a side that says nothing of its own.
func plainSide() Side {
	return Side{
		Unlocking: Sound{Level: -14, Attack: 0.02, Modes: []Mode{{Frequency: 5200, Decay: 0.6}, {Frequency: 8700, Decay: 0.4, Level: -4}}},
		Impulse:   Sound{Level: -9, Attack: 0.02, Modes: []Mode{{Frequency: 6100, Decay: 0.7}, {Frequency: 9900, Decay: 0.4, Level: -3}}},
		Drop:      Sound{Attack: 0.02, Modes: []Mode{{Frequency: 7300, Decay: 0.9}, {Frequency: 12500, Decay: 0.5, Level: -3}}},
	}
}

func (s Side) silent() bool {
	return len(s.Unlocking.Modes)+len(s.Impulse.Modes)+len(s.Drop.Modes) == 0
}

func (w Watch) withDefaults() Watch {
	w.BeatsPerHour = orElse(w.BeatsPerHour, 28800)
	w.Lift = orElse(w.Lift, 52)
	w.EscapeTeeth = orElse(w.EscapeTeeth, 15)
	w.Swing.Start = orElse(w.Swing.Start, 270)
	for i := range w.ImpulseAt {
		w.ImpulseAt[i] = orElse(w.ImpulseAt[i], 0.3)
	}
	if w.Sides[0].silent() {
		w.Sides[0] = plainSide()
	}
	if w.Sides[1].silent() {
		w.Sides[1] = w.Sides[0]
	}
	return w
}
