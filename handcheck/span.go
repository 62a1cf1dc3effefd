package handcheck

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"beatwright/unit"
)

// spanUnits are the units a span may be written in, s each.
var spanUnits = map[string]float64{"d": 86400, "h": 3600, "m": 60, "min": 60, "s": 1, "ms": 1e-3}

// ParseSpan reads a time as people write it: "+40s", "-1m30s", "9h", "2d 4h",
// "0.5s"; minus may be the typographic one. A bare number is refused: seconds
// and minutes are too easily confused.
func ParseSpan(s string) (unit.Seconds, error) {
	rest := strings.ReplaceAll(strings.TrimSpace(s), "−", "-")
	sign := 1.0
	if t, ok := strings.CutPrefix(rest, "-"); ok {
		sign, rest = -1, t
	} else {
		rest = strings.TrimPrefix(rest, "+")
	}
	if rest = strings.TrimSpace(rest); rest == "" {
		return 0, badSpan(s)
	}
	total, last := 0.0, math.Inf(1)
	for rest != "" {
		n := strings.IndexFunc(rest, func(r rune) bool { return (r < '0' || r > '9') && r != '.' })
		if n <= 0 {
			return 0, badSpan(s)
		}
		v, err := strconv.ParseFloat(rest[:n], 64)
		if err != nil {
			return 0, badSpan(s)
		}
		rest = strings.TrimLeft(rest[n:], " ")
		m := strings.IndexFunc(rest, func(r rune) bool { return r < 'a' || r > 'z' })
		if m < 0 {
			m = len(rest)
		}
		size, ok := spanUnits[rest[:m]]
		if !ok || size >= last { // each unit once, from large to small
			return 0, badSpan(s)
		}
		total, last, rest = total+v*size, size, strings.TrimLeft(rest[m:], " ")
	}
	return unit.Seconds(sign * total), nil
}

func badSpan(s string) error {
	return fmt.Errorf("%q is no span of time: write it with its units, as 40s, 1m30s, 9h or 2d", s)
}
