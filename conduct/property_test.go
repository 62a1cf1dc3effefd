package conduct_test

import (
	"testing"

	"beatwright/conduct"
	"beatwright/ear"
	"beatwright/position"
	"beatwright/reading"
	"beatwright/unit"

	"pgregory.net/rapid"
)

// Whatever is heard and pressed: nothing that was kept is lost or kept twice but
// where it was asked to be heard again, the line always says something, and stop
// always ends.
func TestRoundProperties(t *testing.T) {
	t.Parallel()
	acts := []conduct.Act{conduct.Accept, conduct.Repeat, conduct.Skip, conduct.Wait, conduct.Longer, conduct.Lies}
	rapid.Check(t, func(t *rapid.T) {
		plan := rapid.SliceOfN(rapid.SampledFrom(position.Six), 1, 6).Draw(t, "plan")
		var places []conduct.Place
		for _, p := range plan {
			places = append(places, conduct.Place{Position: p})
		}
		r := conduct.NewRound(places, conduct.Quick(), 3)
		kept := map[int]bool{}
		take := func(es []conduct.Effect) {
			for _, e := range es {
				switch e.Do {
				case conduct.Keep:
					if kept[e.Place] {
						t.Fatalf("place %d is kept twice", e.Place)
					}
					kept[e.Place] = true
				case conduct.Forget:
					if !kept[e.Place] {
						t.Fatalf("place %d was not kept and is forgotten", e.Place)
					}
					delete(kept, e.Place)
				}
			}
		}
		var n ear.Now
		for range rapid.IntRange(1, 80).Draw(t, "steps") {
			n.At += unit.Seconds(rapid.Float64Range(0.1, 15).Draw(t, "later"))
			n.Breaks = nil
			switch rapid.IntRange(0, 5).Draw(t, "what") {
			case 0: // laid anew
				n.Lying.Number++
				n.Lying.From = int64(float64(n.At) * 1000)
				what := rapid.SampledFrom([]string{ear.Turned, ear.Moved, ear.Found}).Draw(t, "break")
				n.Breaks = []ear.Break{{What: what, From: n.At - 1, To: n.At}}
			case 1:
				n.Quiet, n.Disturbed = unit.Seconds(rapid.Float64Range(0, 9).Draw(t, "quiet")), rapid.Bool().Draw(t, "disturbed")
			case 2, 3:
				w := &reading.Watch{
					Rate:      &reading.Clocked{Value: rapid.Float64Range(-300, 300).Draw(t, "rate"), U95Statistical: rapid.Float64Range(0, 9).Draw(t, "u")},
					BeatError: &reading.BeatError{Value: 1, U95: rapid.Float64Range(0, 1).Draw(t, "ube")},
				}
				if rapid.Bool().Draw(t, "measured") {
					a, u := rapid.Float64Range(60, 330).Draw(t, "swing"), 2.0
					w.Amplitude = reading.Amplitude{Standing: reading.Measured, Value: &a, U95: &u}
				}
				take(r.Read(r.Lying(), unit.Seconds(rapid.Float64Range(2, 60).Draw(t, "span")), reading.Reading{Watch: w}))
			default:
				es, err := r.Do(rapid.SampledFrom(acts).Draw(t, "act"), rapid.SampledFrom(position.EightVertical).Draw(t, "lies"))
				if err == nil {
					take(es)
				}
			}
			take(r.Hear(n, 1000))
			if r.Doing().Lead == "" {
				t.Fatal("the line is empty")
			}
			for i, p := range r.Places() {
				if (p.State == conduct.Heard) != kept[i] {
					t.Fatalf("place %d is %s, kept %v", i, p.State, kept[i])
				}
				r.Got(i)
			}
		}
		if r.Phase() != conduct.Ended {
			es, err := r.Do(conduct.Stop, position.None)
			if err != nil {
				t.Fatal(err)
			}
			take(es)
		}
		if r.Phase() != conduct.Ended {
			t.Fatal("stopped, and not ended")
		}
	})
}
