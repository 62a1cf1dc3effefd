// Package position names how a watch lies, by the symbols of ISO 3158:1976,
// and says what that means: which hour is up, where the crown points, what
// the trade calls it.
//
// A symbol names the hour that is UP with the dial vertical (6H: the 6 on top,
// the 12 at the bottom), or the face that is up: CH dial up, FH back up. The
// standard's first angle λ turns the watch counter-clockwise as seen from the
// dial side, 30° for each hour. Positions between the quarters are written
// with the half hour that is up (1H30); that notation is from memory, its
// angle follows from the standard's. Dials inclined between level and upright
// have no symbol here. Left and right are always those of a person facing the
// dial.
package position

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"beatwright/unit"
)

// Position is one of CH, FH and the 24 vertical positions in steps of half an
// hour. The zero value is no position.
type Position uint8

// The positions in common use; others come from Vertical or Parse.
const (
	None Position = 0
	CH   Position = 1 // dial up
	FH   Position = 2 // dial down
	H12  Position = 3 // 12 up
	H1x  Position = H12 + 3
	H3   Position = H12 + 6
	H4x  Position = H12 + 9
	H6   Position = H12 + 12
	H7x  Position = H12 + 15
	H9   Position = H12 + 18
	H10x Position = H12 + 21
)

// halfHours is how many half hours the dial has.
const halfHours = 24

// Six are the six positions of a full round, level ones first.
var Six = []Position{CH, FH, H12, H3, H6, H9}

// EightVertical are the upright positions at every hour and a half, which
// show best where a balance is heavy.
var EightVertical = []Position{H12, H1x, H3, H4x, H6, H7x, H9, H10x}

// Vertical is the position with the given hour up, to the nearest half hour.
// Hours outside 0 to 12 are counted round the dial; a NaN gives None.
func Vertical(hour float64) Position {
	if math.IsNaN(hour) || math.IsInf(hour, 0) {
		return None
	}
	n := int(math.Mod(math.Round(2*hour), halfHours))
	if n < 0 {
		n += halfHours
	}
	return H12 + Position(n)
}

// Valid tells whether p is a position at all.
func (p Position) Valid() bool { return p > None && p < H12+halfHours }

// Flat tells whether the dial lies level, up or down.
func (p Position) Flat() bool { return p == CH || p == FH }

// Upright tells whether the dial is vertical.
func (p Position) Upright() bool { return p.Valid() && !p.Flat() }

// HourUp is the hour on top, 0.5 to 12; NaN unless upright.
func (p Position) HourUp() float64 {
	switch {
	case !p.Upright():
		return math.NaN()
	case p == H12:
		return 12
	}
	return float64(p-H12) / 2
}

// Clock is the hour on top as a clock shows it, "9" or "10:30"; empty unless
// upright.
func (p Position) Clock() string {
	if !p.Upright() {
		return ""
	}
	return strings.TrimSuffix(strings.Replace(p.String(), "H", ":", 1), ":")
}

// Lambda is ISO 3158's first angle, 0 ≤ λ < 360°: 0 with 12 up, 90 with 3 up.
// NaN unless upright.
func (p Position) Lambda() unit.Degrees {
	return unit.Degrees(math.Mod(30*p.HourUp(), 360))
}

// String gives the symbol: CH, FH, 12H, 1H30.
func (p Position) String() string {
	switch {
	case p == CH:
		return "CH"
	case p == FH:
		return "FH"
	case !p.Valid():
		return "none"
	}
	whole, half := int(p-H12)/2, int(p-H12)%2 == 1
	if whole == 0 {
		whole = 12
	}
	if half {
		return strconv.Itoa(whole) + "H30"
	}
	return strconv.Itoa(whole) + "H"
}

// Parse reads a symbol, in either case. A trade word is not a symbol, but the
// error says which one is meant where that does not depend on the crown.
func Parse(s string) (Position, error) {
	u := strings.ToUpper(strings.TrimSpace(s))
	for p := CH; p.Valid(); p++ {
		if p.String() == u {
			return p, nil
		}
	}
	if hint, ok := tradeHints[u]; ok {
		return None, fmt.Errorf("%q is not a position symbol: %s", s, hint)
	}
	return None, fmt.Errorf("unknown position %q: use CH (dial up), FH (dial down) or the hour that is up, as 12H, 3H, 6H, 9H or 1H30", s)
}

// tradeHints are words that people write instead of a symbol. The pendant
// ones depend on where the crown is.
var tradeHints = map[string]string{
	"DU": "for dial up write CH", "DIAL UP": "for dial up write CH",
	"DD": "for dial down write FH", "DIAL DOWN": "for dial down write FH",
	"PU": pendantHint, "PD": pendantHint, "PL": pendantHint, "PR": pendantHint,
	"CROWN UP": pendantHint, "CROWN DOWN": pendantHint,
	"CROWN LEFT": pendantHint, "CROWN RIGHT": pendantHint,
}

const pendantHint = "write the hour that is up, as 12H, 3H, 6H or 9H; it depends on where the crown is"

// MarshalText writes the symbol.
func (p Position) MarshalText() ([]byte, error) {
	if !p.Valid() {
		return nil, fmt.Errorf("position %d has no symbol", p)
	}
	return []byte(p.String()), nil
}

// UnmarshalText reads a symbol.
func (p *Position) UnmarshalText(b []byte) error {
	q, err := Parse(string(b))
	if err == nil {
		*p = q
	}
	return err
}
