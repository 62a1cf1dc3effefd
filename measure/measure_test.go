package measure_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"beatwright/measure"
	"beatwright/movement"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/synth"
	"beatwright/unit"
)

// rendered makes the sound of a scene, at its own length or sec seconds.
func rendered(t *testing.T, s synth.Scene, sec unit.Seconds) ([]float32, synth.Truth) {
	t.Helper()
	if sec > 0 {
		s.Duration = sec
	}
	x, truth, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return x, truth
}

func kind(t *testing.T, name string, seed uint64) synth.Scene {
	t.Helper()
	k, err := synth.ParseKind(name)
	if err != nil {
		t.Fatal(err)
	}
	return k.Scene(seed)
}

func formatOf(s synth.Scene) sound.Format {
	return sound.Format{Rate: s.Rate, Channels: max(1, len(s.Channels)), Kind: "simulated"}
}

func hear(t *testing.T, r sound.Reader, o measure.Options) measure.Result {
	t.Helper()
	all := hearAll(t, r, o)
	if len(all) != 1 {
		t.Fatalf("%d readings, want 1", len(all))
	}
	return all[0]
}

func hearAll(t *testing.T, r sound.Reader, o measure.Options) (all []measure.Result) {
	t.Helper()
	err := measure.Sound(context.Background(), "test", r, o, func(res measure.Result) error {
		all = append(all, res)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// reread writes a sound as 24-bit FLAC and opens that.
func reread(t *testing.T, x []float32, f sound.Format) sound.Reader {
	t.Helper()
	var file bytes.Buffer
	w, err := sound.NewFLACWriter(&file, f)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := sound.NewReader(context.Background(), "kept.flac", &file)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func hearScene(t *testing.T, s synth.Scene, sec unit.Seconds) (reading.Reading, synth.Truth) {
	t.Helper()
	x, truth := rendered(t, s, sec)
	o := measure.Options{}
	if s.Watch != nil {
		o.Lift = &s.Watch.Lift
	}
	return hear(t, &sound.Samples{Of: formatOf(truth.Scene), Data: x}, o).Reading, truth
}

// A kept FLAC replays as the same reading, bit for bit.
func TestFLACReplay(t *testing.T) {
	x, truth := rendered(t, kind(t, "fair", 11), 12)
	f := formatOf(truth.Scene)
	r := reread(t, x, f)
	first, _ := json.Marshal(hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{}).Reading)
	again, _ := json.Marshal(hear(t, r, measure.Options{}).Reading)
	if !bytes.Equal(first, again) {
		t.Errorf("replayed:\n%s\nfirst heard:\n%s", again, first)
	}
}

// Exact zeros put in by a sound system that ran short are cut out of the
// timing and reported.
func TestInsertion(t *testing.T) {
	x, truth := rendered(t, kind(t, "fair", 12), 20)
	at := int(8.3 * float64(truth.Scene.Rate))
	y := slices.Concat(x[:at], make([]float32, 441), x[at:])
	o := measure.Options{Lift: &truth.Scene.Watch.Lift}
	f := formatOf(truth.Scene)
	plain := hear(t, &sound.Samples{Of: f, Data: x}, o).Watch
	w := hear(t, &sound.Samples{Of: f, Data: y}, o).Watch
	if w == nil || len(w.Changes) != 1 || w.Changes[0].What != reading.Insertion || math.Abs(float64(w.Changes[0].At)-8.3) > 0.01 {
		t.Fatalf("changes %+v, want one insertion at 8.3 s", w)
	}
	if d := w.Rate.Value - plain.Rate.Value; d != 0 {
		t.Errorf("rate moved by %v s/d", d)
	}
}

// Amplitude is defined by a lever's lift; other escapements have none to hear.
func TestNotALever(t *testing.T) {
	x, truth := rendered(t, kind(t, "fair", 13), 12)
	mv := movement.Movement{Escapement: movement.Cylinder}
	w := hear(t, &sound.Samples{Of: formatOf(truth.Scene), Data: x}, measure.Options{Movement: &mv}).Watch
	if w == nil || w.Amplitude.Value != nil || !strings.Contains(w.Amplitude.Why, "not defined from this sound") {
		t.Errorf("got %+v", w)
	}
}

// A source stored with loss is never believed more than one without.
func TestLossy(t *testing.T) {
	for seed := uint64(1); seed <= 4; seed++ {
		x, truth := rendered(t, kind(t, "messy", seed), 12)
		f := formatOf(truth.Scene)
		plain := hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{}).Watch.Amplitude
		f.Lossy = true
		lossy := hear(t, &sound.Samples{Of: f, Data: x}, measure.Options{}).Watch.Amplitude
		if lossy.Standing == reading.Measured && (plain.Standing != reading.Measured || *lossy.U95 < *plain.U95) {
			t.Errorf("seed %d: lossy %+v, plain %+v", seed, lossy, plain)
		}
	}
}

// broken ends with an error.
type broken struct{ sound.Samples }

func (b *broken) Read(dst []float32) (int, error) {
	n, err := b.Samples.Read(dst)
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	return n, err
}

func TestReadErrorIsReturned(t *testing.T) {
	err := measure.Sound(context.Background(), "x", &broken{sound.Samples{Of: sound.Format{Rate: 48000, Channels: 1}}}, measure.Options{}, func(measure.Result) error { return nil })
	if err == nil || !strings.Contains(err.Error(), "read x") {
		t.Errorf("got %v", err)
	}
}
