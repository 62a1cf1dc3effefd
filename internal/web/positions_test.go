package web_test

import (
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"

	"beatwright/internal/explain"
	"beatwright/internal/live"
)

// TestPositionsSideBySide: as found beside as left by default, any two or one
// on asking, each reading leading to its hearing.
func TestPositionsSideBySide(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	page := "/jobs/" + number + "/positions"
	if st, text := w.get(page); st != http.StatusOK || !strings.Contains(text, "No position has been heard yet.") || !strings.Contains(text, "drop a recording") {
		t.Errorf("%d: without a hearing the page does not say what is missing and what would bring it", st)
	}
	var paths []string
	for _, h := range []struct {
		c                      clip
		position, stage, hours string
	}{
		{lying, "CH", "as found", "0"},
		{hanging, "6H", "as found", "0"},
		{buried, "3H", "as found", "0"},
		{adjusted, "CH", "as left", "0"},
		{adjusted, "6H", "as left", "0"},
		{lying, "CH", "as left", "24"},
		{noWatch, "9H", "as found", "0"},
	} {
		paths = append(paths, w.hear(number, h.c, h.position, h.stage, h.hours))
	}
	st, text := w.get(page)
	if st != http.StatusOK {
		t.Fatalf("%d\n%.500s", st, text)
	}
	says(t, "both stages", text,
		"Three positions, as found beside as left</h1>", "dial up", "crown left", "<b>at most</b>", "6H to CH", "Widest apart", "Flat less standing",
		"Full wind, chronograph off, 23 °C.", "± is 95 %.", "± 4 s/d, is the same in all rates", "48.0 ± 1.0°, given",
		"From as left, full wind", "24 h after full wind", "Heavy", "Position curve as found,", "Not in the table.", "No watch:")
	for i, p := range paths {
		if !strings.Contains(text, `href="`+p+`"`) {
			t.Errorf("hearing %d is not reached from the page", i)
		}
	}
	if strings.Contains(text, "NaN") {
		t.Error("the page says NaN")
	}
	_, text = w.get(page + "?left=as+left&right=none")
	says(t, "one stage", text, "Two positions, as left")
	if strings.Contains(text, "beside as") || strings.Contains(text, "−26.") {
		t.Error("one stage alone shows another")
	}
	_, text = w.get(page + "?left=as+left&right=as+found")
	says(t, "turned round", text, "as left beside as found")
}

// TestPositionsData: the page's own data and the table agree with what the
// readings mean together; the table is one that explain reads.
func TestPositionsData(t *testing.T) {
	t.Parallel()
	w := newWorkshop(t)
	number := w.aJob()
	for position, c := range map[string]clip{"CH": lying, "6H": hanging, "12H": sound12} {
		w.hear(number, c, position, "as found", "0")
	}
	p, err := w.bench.Job(t.Context(), number)
	if err != nil {
		t.Fatal(err)
	}
	want := live.Explain(p)
	_, text := w.get("/jobs/" + number + "/positions.csv")
	got, err := explain.Read(strings.NewReader(text), explain.Options{Name: "positions.csv", Movement: live.Facts(p)})
	if err != nil {
		t.Fatalf("explain does not read the table: %v\n%s", err, text)
	}
	near := func(what string, a, b float64) {
		if math.Abs(a-b) > 1e-9*math.Abs(b) {
			t.Errorf("%s: the table says %v, the record %v", what, a, b)
		}
	}
	near("mean", got.Sum.MeanRate.Value, want.Sum.MeanRate.Value)
	near("its doubt", got.Sum.MeanRate.U95(), want.Sum.MeanRate.U95())
	near("spread", got.Sum.Spread.Value, want.Sum.Spread.Value)
	near("swing", got.Sum.MeanAmplitude.Value, want.Sum.MeanAmplitude.Value)
	// +14, −26 and +20 s/d were synthesised: 2.67 in the mean.
	if math.Abs(want.Sum.MeanRate.Value-8.0/3) > 1 {
		t.Errorf("mean %v s/d, want 2.67", want.Sum.MeanRate.Value)
	}
	var v struct {
		Sides []struct {
			Stage  string
			Report struct {
				Summary struct {
					Positions int
				}
			}
		}
		Hearings []struct {
			InTable bool `json:"in_table"`
		}
	}
	_, text = w.get("/jobs/" + number + "/positions.json")
	if err := json.Unmarshal([]byte(text), &v); err != nil || len(v.Sides) != 1 || v.Sides[0].Report.Summary.Positions != 3 || len(v.Hearings) != 3 || !v.Hearings[0].InTable {
		t.Errorf("the page's data: %+v, %v", v, err)
	}
}
