package demo

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"beatwright"
	"beatwright/internal/live"
	"beatwright/position"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// Hearing is one whose sound is still to be made.
type Hearing struct {
	Job beatwright.ID
	// Position is how the watch lay, At when it is said to have been heard.
	Position string
	At       time.Time
	stage    beatwright.Stage
	state    beatwright.State
	scene    synth.Scene
	// rank is its importance, the smallest first.
	rank int
}

// sampling is the rate at which the sounds are made.
const sampling unit.Hertz = 48000

// voice is how a watch sounds and runs at one stage. Seconds is the length of
// each hearing, SNR how far the noise lies below the drop.
type voice struct {
	kind    string
	seed    uint64
	beats   unit.BeatsPerHour
	lift    unit.Degrees
	seconds unit.Seconds
	snr     unit.Decibels
	error   unit.Milliseconds
	// rate is the mean of the hanging positions, swell and hour height and
	// place of the wave in them, flat what the lying ones gain on the mean.
	rate, swell, flat unit.SecondsPerDay
	hour              float64
	// swing is that lying, hang what is lost hanging.
	swing, hang unit.Degrees
	// faint is a position in which the watch sat badly on the pickup.
	faint string
	quick bool
}

// hear plans a round at the clock's time and its hearings, a minute and a half
// apart; hours is since full wind.
func (v *visit) hear(rank int, stage beatwright.Stage, hours float64, o voice, positions ...string) {
	at := v.clock.Now()
	r := &beatwright.Round{
		Entry: v.entry(), Job: v.job.ID, Stage: stage, Plan: positions, Quick: o.quick, At: at,
		State: beatwright.State{Hours: &hours, Wound: "crown", Chronograph: "none"},
	}
	if v.f.Chronograph != "" {
		r.State.Chronograph = "off"
	}
	v.put(v.job.ID, fmt.Sprintf("round planned, %s: %d positions", stage, len(positions)), r)
	for i, p := range positions {
		scene, err := o.scene(p, uint64(i))
		if err != nil {
			v.fail("%s: %w", p, err)
			return
		}
		v.hearings = append(v.hearings, Hearing{
			Job: v.job.ID, Position: p, At: at.Add(time.Duration(i) * 90 * time.Second),
			stage: stage, state: r.State, scene: scene, rank: rank,
		})
	}
}

// scene is what is heard of the watch in a position.
func (o voice) scene(lies string, number uint64) (synth.Scene, error) {
	kind, err := synth.ParseKind(o.kind)
	if err != nil {
		return synth.Scene{}, err
	}
	pos, err := position.Parse(lies)
	if err != nil {
		return synth.Scene{}, err
	}
	s := kind.Scene(o.seed)
	s.Seed, s.Rate, s.Duration, s.ClockPPM = o.seed*100+number, sampling, o.seconds, 0
	s.Noise = []synth.Noise{{SNR: o.snr}}
	if lies == o.faint {
		s.Noise[0].SNR -= 5
	}
	o.run(s.Watch, pos)
	return s, s.Validate()
}

// run makes the watch run as it does in a position. A little more is lost with
// the wave's top up, and the two lying positions differ a little (chosen).
func (o voice) run(w *synth.Watch, pos position.Position) {
	w.BeatsPerHour, w.Lift, w.BeatError = o.beats, o.lift, o.error
	switch {
	case pos == position.CH:
		w.Rate, w.Swing = o.rate+o.flat, synth.Swing{Start: o.swing}
	case pos.Flat():
		w.Rate, w.Swing = o.rate+o.flat-o.flat/8, synth.Swing{Start: o.swing + 3}
	default:
		wave := math.Cos(2 * math.Pi * (pos.HourUp() - o.hour) / 12)
		w.Rate = o.rate + o.swell*unit.SecondsPerDay(wave)
		w.Swing = synth.Swing{Start: o.swing - o.hang - unit.Degrees(2*wave)}
	}
}

// inOrder puts the hearings in order of importance.
func inOrder(hs []Hearing) []Hearing {
	slices.SortStableFunc(hs, func(a, b Hearing) int { return a.rank - b.rank })
	return hs
}

// Sound makes the sound of a hearing, and lets the bench hear and keep it as it
// would any recording.
func Sound(ctx context.Context, bench *live.Bench, h Hearing) error {
	frames, _, err := synth.Render(h.scene)
	if err != nil {
		return fmt.Errorf("make the sound of %s: %w", h.Position, err)
	}
	var b bytes.Buffer
	w, err := sound.NewWAVWriter(&b, sound.RawFormat{Encoding: sound.S24LE, Rate: sampling, Channels: max(1, len(h.scene.Channels))})
	if err != nil {
		return err
	}
	if err := w.Write(frames); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	_, _, err = bench.Keep(ctx, string(h.Job), live.Recording{
		Name: "invented-" + h.Position + ".wav", Sound: &b, Position: h.Position, State: h.state, Stage: h.stage,
		At: h.At, Note: "invented sound", Who: who,
	})
	return err
}

// Sounds makes the sounds of all hearings in their order, until the context
// ends.
func Sounds(ctx context.Context, bench *live.Bench, hearings []Hearing) error {
	for _, h := range hearings {
		if err := Sound(ctx, bench, h); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	return nil
}
