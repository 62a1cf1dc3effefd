package cli

import (
	"fmt"
	"math"
	"strings"

	"beatwright/internal/say"
	"beatwright/measure"
)

// soundsOf says in a row a side where the sounds of its averaged beat stand,
// with the names of what the figures are: from the beat's middle where the
// unlocking is known, else from the drop. Sounds that were not heard are
// dashes.
func soundsOf(r Result) (rows [][2]string) {
	legend, sides := "", [2]string{"first beats", "second beats"}
	for i, p := range r.Profiles {
		if i >= len(sides) || p.Drop == nil {
			continue
		}
		name, first := "Sounds, ms from the middle", p.Unlocking
		legend = "(unlocking / impulse / drop)"
		if !p.FromMiddle {
			name, first = "Sounds, ms from the drop", p.First
			legend = "(first sound / impulse / drop)"
		}
		rows = append(rows, [2]string{name, sides[i] + " " + figures(p, first)})
	}
	switch len(rows) {
	case 1:
		rows = append(rows, [2]string{legend})
	case 2:
		rows[1][0] = legend
	}
	return rows
}

// figures are the places of three sounds and the greatest of their doubts.
func figures(p measure.Profile, first *measure.Mark) string {
	marks := []*measure.Mark{first, p.Impulse, p.Drop}
	doubt := 0.0
	for _, m := range marks {
		if m != nil {
			doubt = math.Max(doubt, float64(m.U95)*1e3)
		}
	}
	var at []string
	for _, m := range marks {
		switch {
		case m == nil:
			at = append(at, say.Dash)
		case m == p.Drop && !p.FromMiddle:
			at = append(at, "0")
		default:
			at = append(at, say.Signed(float64(m.At)*1e3, doubt))
		}
	}
	return fmt.Sprintf("%s, %s", strings.Join(at, " / "), say.Doubt(doubt, ""))
}
