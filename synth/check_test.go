package synth

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

func TestValidate(t *testing.T) {
	for _, c := range []struct {
		name  string
		scene Scene
		want  string // part of the error
	}{
		{"sampling", Scene{Rate: 100}, "sampling rate"},
		{"not a number", Scene{Duration: -1}, "duration"},
		{"infinite", Scene{Watch: &Watch{Jitter: Jitter{Memory: math.Inf(1)}}}, "Memory"},
		{"level", Scene{Noise: []Noise{{SNR: 1e9}}}, "SNR"},
		{"noise", Scene{Noise: []Noise{{Kind: "green"}}}, "green"},
		{"other", Scene{Others: []Other{{Kind: "owl"}}}, "owl"},
		{"event", Scene{Events: []Event{{Kind: "bang"}}}, "bang"},
		{"bits", Scene{Bits: 40}, "40 bits"},
		{"edit", Scene{Edits: []Edit{{Gap: -1}}}, "edit"},
		{"lift", Scene{Watch: &Watch{Lift: -3}}, "lift"},
		{"amplitude", Scene{Watch: &Watch{Swing: Swing{Start: 600}}}, "amplitude"},
		{"course", Scene{Watch: &Watch{Swing: Swing{Course: "up"}}}, "course"},
		{"course without time", Scene{Watch: &Watch{Swing: Swing{Course: Linear}}}, "needs a time"},
		{"beat error", Scene{Watch: &Watch{BeatError: 40}}, "beat error"},
		{"jitter", Scene{Watch: &Watch{Jitter: Jitter{Drop: -1}}}, "jitter"},
		{"memory", Scene{Watch: &Watch{Jitter: Jitter{Memory: 1}}}, "memory"},
		{"wave", Scene{Watch: &Watch{Waves: []Wave{{}}}}, "wave"},
		{"mode", Scene{Watch: &Watch{Case: []Mode{{Frequency: 100}}}}, "resonance"},
		{"steps", Scene{Watch: &Watch{RateSteps: []RateStep{{At: 5}, {At: 4}}}}, "order"},
		{"turns", Scene{Watch: &Watch{Turns: []Turn{{At: 5, Phase: 300}}}}, "jump"},
		{"second", Scene{Second: &Neighbour{Watch: Watch{Lift: 200}}}, "second watch"},
	} {
		err := c.scene.Validate()
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		}
		if _, _, err := Render(c.scene); err == nil {
			t.Errorf("%s: was rendered", c.name)
		}
	}
	if err := (Scene{}).Validate(); err != nil {
		t.Errorf("the zero scene: %v", err)
	}
	if err := (Scene{Watch: &Watch{}}).Validate(); err != nil {
		t.Errorf("the zero watch: %v", err)
	}
	if _, _, err := Render(Scene{Duration: 86400}); err == nil {
		t.Error("a day was rendered at once")
	}
}

// What Validate lets pass is rendered: finite samples, none missing.
func FuzzScene(f *testing.F) {
	for _, k := range allKinds() {
		b, err := json.Marshal(k.Scene(1))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	b, _ := json.Marshal(crowded())
	f.Add(b)
	f.Fuzz(func(t *testing.T, b []byte) {
		var s Scene
		if json.Unmarshal(b, &s) != nil {
			return
		}
		s.Duration, s.Rate = 0.3, min(s.Rate, 48000)
		s.Others = s.Others[:min(len(s.Others), 3)]
		x, truth, err := Render(s)
		if err != nil {
			return
		}
		for _, v := range x {
			if math.IsNaN(float64(v)) || v > 1 || v < -1 {
				t.Fatalf("a sample of %g", v)
			}
		}
		if _, err := json.Marshal(truth); err != nil {
			t.Fatal(err)
		}
	})
}
