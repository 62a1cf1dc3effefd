package web

import (
	"testing"

	"beatwright"
	"beatwright/intake"
	"beatwright/movement"
)

// TestFeaturesOfKindAndMovement: neither the words for the kind nor what is
// known of the movement loses what the other knows.
func TestFeaturesOfKindAndMovement(t *testing.T) {
	alarm := &beatwright.Movement{Facts: movement.Movement{Name: "invented", Winding: movement.Automatic, Complications: []string{"alarm", "date"}}}
	tests := []struct {
		name, kind string
		m          *beatwright.Movement
		want       intake.Features
	}{
		{"the kind alone", "hand-wound alarm", nil, intake.Features{Winding: intake.Hand, Alarm: true}},
		{"the movement alone", "", alarm, intake.Features{Winding: intake.Automatic, Alarm: true, Date: true}},
		{"both", "watch with seals", alarm, intake.Features{Winding: intake.Automatic, Alarm: true, Date: true, Sealed: intake.Yes}},
		{"the same word twice", "automatic alarm", alarm, intake.Features{Winding: intake.Automatic, Alarm: true, Date: true}},
		{"what is seen stands over what could be", "alarm, no date", alarm, intake.Features{Winding: intake.Automatic, Alarm: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := &beatwright.Papers{Watch: &beatwright.Watch{What: tt.kind}, Movement: tt.m}
			if got := features(p); got != tt.want {
				t.Errorf("got %+v, want %+v", got, tt.want)
			}
		})
	}
}
