package cli

import (
	"fmt"
	"strings"

	"beatwright/internal/say"
	"beatwright/measure"
)

// soundsOf says where the sounds of either side's averaged beat stand: from
// the beat's middle where the unlocking is known, else from the drop.
func soundsOf(r Result) (lines []string) {
	names := [2]string{"first beats", "second beats"}
	for i, p := range r.Profiles {
		if i >= len(names) || p.Drop == nil {
			continue
		}
		var at []string
		for _, m := range []struct {
			name string
			mark *measure.Mark
		}{{"unlocking", p.Unlocking}, {"first sound", p.First}, {"impulse", p.Impulse}, {"drop", p.Drop}} {
			if m.mark != nil {
				at = append(at, m.name+" "+millis(m.mark, p.FromMiddle || m.mark != p.Drop))
			}
		}
		from := "from the middle"
		if !p.FromMiddle {
			from = "from the drop"
		}
		lines = append(lines, fmt.Sprintf("%s: %s, %s", names[i], strings.Join(at, ", "), from))
	}
	return lines
}

// millis is a mark's place with its doubt; the drop itself, when all else is
// counted from it, has none.
func millis(m *measure.Mark, doubt bool) string {
	if !doubt {
		return "0"
	}
	return say.SignedWith(float64(m.At)*1e3, float64(m.U95)*1e3, "ms")
}
