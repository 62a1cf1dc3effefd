package conduct_test

import (
	"strings"
	"testing"

	"beatwright/conduct"
	"beatwright/position"
	"beatwright/unit"
)

// For poise nothing is kept while the watch swings too far, for want of poise
// turns about near 220° and shows most at 150 to 160° (the reason at Poise).
func TestPoiseWaitsForTheSwing(t *testing.T) {
	t.Parallel()
	// Turned at 25 s, it comes to 155°.
	x, rate := sitting(t, 9, []laid{{12, 235, 0.5, 25}, {8, 155, 0.5, 25}})
	d := newDesk(t, rate, conduct.Quick(), position.H12, position.H3, position.H6)
	d.round.Poise()
	said := ""
	d.at = func(at unit.Seconds) {
		if at > 20 && at < 20.15 {
			said = d.round.Doing().Rest
		}
	}
	d.hear(x)
	if !strings.HasPrefix(said, "It swings 235") || !strings.Contains(said, "let it run down") {
		t.Errorf("said %q", said)
	}
	if len(d.kept) != 1 || d.kept[0].from < 25 {
		t.Errorf("kept %+v", d.kept)
	}
}
