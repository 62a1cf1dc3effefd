package position

import (
	"math"

	"beatwright/unit"
)

// CrownDirection is where a crown fitted at the given hour points, clockwise
// from straight up as one faces the dial: above −180 and up to 180°.
//
//	30·(c − h), c the crown's hour, h the hour that is up      derived
//
// NaN unless upright.
func (p Position) CrownDirection(crownHour float64) unit.Degrees {
	d := math.Mod(30*(crownHour-p.HourUp()), 360)
	switch {
	case d > 180:
		d -= 360
	case d <= -180:
		d += 360
	}
	return unit.Degrees(d)
}

// WithCrown is the position in which a crown at the given hour points turned
// degrees clockwise from straight up, to the nearest half hour: with the crown
// at 12, WithCrown(12, 0) is pendant up.
func WithCrown(crownHour float64, turned unit.Degrees) Position {
	return Vertical(crownHour - float64(turned)/30)
}

// Words gives the trade's name for a watch with its crown at the given hour:
// "dial up", "crown left". A crown that points between the quarters is "upper
// left" and so on.
func (p Position) Words(crownHour float64) string { return p.words("crown", crownHour) }

// PendantWords is Words for a pocket watch: "pendant up" with the pendant,
// and the hour it stands at, on top.
func (p Position) PendantWords(pendantHour float64) string {
	return p.words("pendant", pendantHour)
}

func (p Position) words(what string, hour float64) string {
	switch {
	case p == CH:
		return "dial up"
	case p == FH:
		return "dial down"
	case !p.Valid() || math.IsNaN(hour) || math.IsInf(hour, 0):
		return "position not known"
	}
	return what + " " + pointing(float64(p.CrownDirection(hour)))
}

// pointing names a direction given clockwise from up, −180 < d ≤ 180.
func pointing(d float64) string {
	const near = 7.5 // half of the step from one position to the next, °
	switch a := math.Abs(d); {
	case a <= near:
		return "up"
	case a >= 180-near:
		return "down"
	case math.Abs(a-90) <= near:
		return side(d)
	case a < 90:
		return "upper " + side(d)
	default:
		return "lower " + side(d)
	}
}

func side(d float64) string {
	if d < 0 {
		return "left"
	}
	return "right"
}
