package grade

import (
	"math"

	"beatwright/position"
)

// temperatureTolerance is that of each day of a trial, °C (method page of a
// Swiss testing institute).
const temperatureTolerance = 1.0

// iso3159Source says how well the limits are known.
const iso3159Source = "ISO 3159:2009, from independent secondary sources"

// Largest area and diameter of a movement in category 2 of ISO 3159.
const (
	smallDiameterMM  = 20.0
	smallAreaMM2     = 314.0
	sizeResolutionMM = 1e-6
)

// ISO3159 is the grade for category 1 (movements above 20 mm in diameter, or
// 314 mm²) or 2 (smaller). Any other number gives category 1.
func ISO3159(category int) Grade {
	limits := []float64{-4, 6, 2, 5, -6, 8, 10, 0.6, 5}
	g := Grade{Name: "ISO 3159 category 1 (movement above 20 mm)", Source: iso3159Source, Programme: programme()}
	if category == 2 {
		limits = []float64{-5, 8, 3.4, 7, -8, 10, 15, 0.7, 6}
		g.Name = "ISO 3159 category 2 (movement of 20 mm or less)"
		g.Source = "ISO 3159:2009, limits of category 2 from one secondary source"
	}
	g.Criteria = []Criterion{
		{"M", "mean daily rate", perDay, &limits[0], &limits[1], MeanDaily, nil},
		{"V", "mean variation in rates", perDay, nil, &limits[2], MeanVariation, nil},
		{"Vmax", "greatest variation in rates", perDay, nil, &limits[3], GreatestVariation, nil},
		{"D", "difference between vertical and horizontal", perDay, &limits[4], &limits[5], VerticalLessHorizontal, nil},
		{"P", "greatest deviation from the mean", perDay, nil, &limits[6], GreatestDeviation, nil},
		{"C", "thermal variation", "s/d per °C", negative(limits[7]), &limits[7], Thermal, nil},
		{"R", "resumption of rate", perDay, negative(limits[8]), &limits[8], Resumption, nil},
	}
	return g
}

const perDay = "s/d"

func negative(v float64) *float64 { v = -v; return &v }

// Category is the category of ISO 3159 for a round movement. Sources differ on
// exactly 20 mm: ok is then false.
func Category(diameterMM float64) (category int, ok bool) {
	return category3159(diameterMM, smallDiameterMM)
}

// CategoryByArea is Category for a movement that is not round, by its area in
// mm².
func CategoryByArea(areaMM2 float64) (category int, ok bool) {
	return category3159(areaMM2, smallAreaMM2)
}

func category3159(size, limit float64) (int, bool) {
	switch {
	case !(size > 0) || math.Abs(size-limit) < sizeResolutionMM:
		return 0, false
	case size > limit:
		return 1, true
	}
	return 2, true
}

// programme is the fifteen days of ISO 3159.
func programme() []Step {
	var out []Step
	add := func(p position.Position, celsius float64, remark string) {
		out = append(out, Step{len(out) + 1, p, celsius, remark})
	}
	add(position.H6, 23, "after at least 12 h at 23 °C")
	add(position.H6, 23, "")
	for _, p := range []position.Position{position.H3, position.H9, position.FH} {
		add(p, 23, "")
		add(p, 23, "")
	}
	add(position.CH, 23, "")
	add(position.CH, 23, "complications running, a chronograph too, on this day only")
	add(position.CH, 8, "")
	add(position.CH, 23, "")
	add(position.CH, 38, "")
	add(position.H6, 23, "")
	add(position.H6, 23, "")
	return out
}

const kleinleinSource = "W. J. Kleinlein, Rules and Practice for Adjusting Watches (1920) §66"

// Kleinlein are the allowances of 1920, between the fastest and the slowest of
// the positions named: three positions, then the five-position classes.
func Kleinlein() []Grade {
	flat, up, all := []string{"CH", "FH"}, []string{"CH", "FH", "PU"}, []string{"CH", "FH", "PU", "PR", "PL"}
	return []Grade{
		kleinlein("three positions", spread("level and pendant up", up, 7)),
		kleinlein("five positions, finest class",
			spread("level", flat, 3), spread("level and pendant up", up, 5), spread("all five", all, 6)),
		kleinlein("five positions, medium class",
			spread("level", flat, 5), spread("level and pendant up", up, 7), spread("all five", all, 10)),
		kleinlein("five positions, loose class",
			spread("level and pendant up", up, 7), spread("all five", all, 25)),
	}
}

func kleinlein(class string, cs ...Criterion) Grade {
	return Grade{Name: "Kleinlein 1920, " + class, Source: kleinleinSource, Criteria: cs}
}

func spread(name string, places []string, most float64) Criterion {
	return Criterion{Symbol: "spread", Name: "fastest less slowest, " + name, Unit: perDay, High: &most, Of: Spread, Places: places}
}
