package measure_test

import (
	"context"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"beatwright/internal/shared"
	"beatwright/measure"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

func measured(t *testing.T, path string, o measure.Options) reading.Reading {
	t.Helper()
	r, err := sound.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	var out reading.Reading
	err = measure.Sound(context.Background(), filepath.Base(path), r, o, func(res measure.Result) error {
		out = res.Reading
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func number(row map[string]string, name string) float64 {
	v, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		return math.NaN()
	}
	return v
}

// limits of one hearing by its kind. Rate: the target for all kinds of sound
// (0.09 s/d) or with a drifting swing or buried sound (0.15). Beat error: 0.03
// ms, 0.15 on messy sound. measured says that the swing must be.
var limits = map[string]struct {
	rate, beatError, swing float64
	measured               bool
}{
	"fair": {0.09, 0.03, 3, true}, "tired": {0.09, 0.03, 2.5, true}, "messy": {0.09, 0.15, 5, true},
	"buried": {0.15, 0.03, 5, false}, "hum": {0.09, 0.03, 3, true}, "bumps": {0.09, 0.03, 3, true},
	"drift": {0.15, 0.03, 3, true}, "soft": {0.09, 0.03, 3, true}, "wheel": {0.09, 0.03, 3, true},
	"onedead": {0.09, 0.03, 3, true},
}

// TestHearings holds the engine to simulated hearings of another hand.
func TestHearings(t *testing.T) {
	dir := shared.Dir(t, "hearings")
	for _, row := range shared.Truth(t, dir) {
		t.Run(row["file"], func(t *testing.T) {
			name, _, _ := strings.Cut(row["file"], "-")
			lim, ok := limits[name]
			if !ok {
				t.Skip("the swing falls all through: read by windows in TestRunDown")
			}
			lift := unit.Degrees(number(row, "lift_deg"))
			got := measured(t, filepath.Join(dir, row["file"]), measure.Options{Lift: &lift})
			w := got.Watch
			if w == nil || w.Rate == nil || float64(*w.BeatsPerHour) != number(row, "beats_per_hour") {
				t.Fatalf("not heard, or another beat rate: %+v", got)
			}
			if d := w.Rate.Value - number(row, "rate_s_per_day"); math.Abs(d) > lim.rate {
				t.Errorf("rate off by %.3f s/d", d)
			}
			if d := w.BeatError.Value - number(row, "beat_error_ms"); math.Abs(d) > lim.beatError {
				t.Errorf("beat error off by %.3f ms", d)
			}
			checkSwing(t, w.Amplitude, number(row, "amplitude_deg"), lim.swing, lim.measured)
		})
	}
}

func checkSwing(t *testing.T, a reading.Amplitude, want, tol float64, must bool) {
	t.Helper()
	switch {
	case a.Standing == reading.Measured && math.Abs(*a.Value-want) > tol:
		t.Errorf("swing %.1f, want %.1f ± %.1f", *a.Value, want, tol)
	case a.Standing == reading.AtMost && *a.Value < want-0.5:
		t.Errorf("at most %.1f, but it swings %.1f", *a.Value, want)
	case a.Standing != reading.Measured && must:
		t.Errorf("%s, on a clear sound: %s", a.Standing, a.Why)
	}
}

// TestRunDown follows a falling swing by windows of five seconds: within 12°,
// or a true bound.
func TestRunDown(t *testing.T) {
	path := filepath.Join(shared.Dir(t, "hearings"), "rundown-23.flac")
	r, err := sound.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	lift := unit.Degrees(52)
	k := 0
	err = measure.Sound(context.Background(), "x", r, measure.Options{Lift: &lift, Every: 5}, func(res measure.Result) error {
		// The table's note: 90 + 120·max(0, 1 − t/90)°.
		want := 90 + 120*math.Max(0, 1-(5*float64(k)+2.5)/90)
		if res.Watch == nil {
			t.Errorf("window %d: not heard", k)
		} else {
			checkSwing(t, res.Watch.Amplitude, want, 12, false)
		}
		k++
		return nil
	})
	if err != nil || k != 18 {
		t.Errorf("%d windows, want 18; %v", k, err)
	}
}

// TestRecordings holds the engine to real clocks, and to sounds that are none.
func TestRecordings(t *testing.T) {
	dir := shared.Dir(t, "recordings")
	for _, row := range shared.Truth(t, dir) {
		t.Run(row["file"], func(t *testing.T) {
			got := measured(t, filepath.Join(dir, row["file"]), measure.Options{})
			switch row["expect"] {
			case "heard":
				checkClock(t, got.Watch, row)
			case "stepping":
				if got.Refusal == nil || got.Refusal.Code != reading.Stepping || math.Abs(float64(*got.Refusal.Step)-1) > 0.01 {
					t.Errorf("got %+v, want steps of 1 s", got.Refusal)
				}
			default:
				if got.Refusal == nil {
					t.Errorf("heard a watch beating every %.2f ms", got.Watch.BeatTime.Value)
				}
			}
		})
	}
}

// checkClock compares with the table, whose uncertainties are standard ones.
func checkClock(t *testing.T, w *reading.Watch, row map[string]string) {
	t.Helper()
	if w == nil {
		t.Fatal("not heard")
	}
	if d := w.BeatTime.Value - number(row, "beat_ms"); math.Abs(d) > math.Hypot(3*number(row, "u_beat_ms"), w.BeatTime.U95Statistical) {
		t.Errorf("beat off by %.3f ms", d)
	}
	if e := w.BeatError; e != nil && e.By == "drop" {
		if d := e.Value - number(row, "beat_error_half_difference_ms"); math.Abs(d) > math.Hypot(3*number(row, "u_beat_error_ms"), e.U95) {
			t.Errorf("beat error off by %.2f ms", d)
		}
	}
	if row["file"] == "2-131943-A.flac" {
		if len(w.Changes) != 1 || w.Changes[0].Ms == nil || math.Abs(*w.Changes[0].Ms+57) > 3 || math.Abs(float64(w.Changes[0].At)-3.7) > 0.2 {
			t.Errorf("got %+v, want the edit at 3.7 s that jumps by −57 ms", w.Changes)
		}
	}
}
