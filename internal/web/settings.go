package web

import (
	"context"
	"errors"
	"io/fs"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"beatwright"
	"beatwright/internal/say"
)

func (s *Server) routesSettings(mux *http.ServeMux) {
	s.page(mux, "/settings", "settings.html", s.settings)
	s.form(mux, "/settings", "settings.html", s.keepSettings)
}

// settingsView is what the workshop says of itself, and where it lies.
type settingsView struct {
	Shop *beatwright.Workshop `json:"workshop"`
	filled
	Folder string `json:"folder"`
	// Size is what the folder takes, Free what the disk has left.
	Size    string   `json:"size"`
	Free    string   `json:"free,omitempty"`
	Version string   `json:"version"`
	Hours   []string `json:"-"`
	// Clock says how well the sound card's clock is known, Means what follows.
	Clock string `json:"clock"`
	Means string `json:"clock_means"`
}

// themes are what the page can look like.
var themes = []tap{{"", "as the computer"}, {"light", "light"}, {"dark", "dark"}}

func (s *Server) settings(r *http.Request) (*shown, error) {
	w := s.workshop(r.Context())
	f := filled{Text: map[string]string{
		"name": w.Name, "place": w.Place, "who": w.Who, "currency": w.Currency, "theme": w.Theme,
		"day_from": strconv.Itoa(w.DayFrom), "day_to": strconv.Itoa(w.DayTo),
	}}
	return &shown{Title: "Settings", Nav: "Settings", View: s.settingsView(r.Context(), w, f)}, nil
}

func (s *Server) settingsView(ctx context.Context, w *beatwright.Workshop, f filled) settingsView {
	v := settingsView{Shop: w, filled: f, Folder: s.bench.Folder.Dir(), Version: s.version}
	v.Size = folderSize(ctx, v.Folder)
	if free, err := s.bench.Folder.Free(); err == nil {
		v.Free = sizeWords(free)
	}
	for h := range 25 {
		v.Hours = append(v.Hours, strconv.Itoa(h))
	}
	v.Clock, v.Means = clockStands(w.Clock)
	return v
}

// The sound card's clock where nothing is known of it: within 50 ppm, all
// equally likely, so 47.5 ppm at 95 % (JCGM 100, 4.3.7); 1 ppm is 0.0864 s/d.
const (
	unknownPPM = 47.5
	perPPM     = 0.0864
)

// clockStands says how well the clock is known and what follows for a rate.
func clockStands(c beatwright.Clock) (standing, means string) {
	if c.Standing != "calibrated" {
		return "Uncalibrated.", "Nobody has compared the clock of the device that sound comes in by with a better one. Every rate is out by the same unknown amount, up to " +
			say.Unit("±\u00a0"+say.Fixed(unknownPPM*perPPM, 1), "s/d") + " (95 %); a difference between two readings of one device is not touched by it."
	}
	standing = "Calibrated"
	if c.On != nil {
		standing += " on " + sayDate(c.On)
	}
	if c.Device != "" {
		standing += ", " + c.Device
	}
	return standing + ".", "The clock was found to be " + say.SignedWith(c.PPM, c.U95PPM, "ppm") + " off. " +
		say.Sentence(say.Doubt(c.U95PPM*perPPM, "s/d")+" of doubt stays, the same in every rate of one device")
}

// counting is how long a folder may be counted before its page is shown: a
// page must not wait for a slow disk (chosen).
const counting = 250 * time.Millisecond

// folderSize says what all files in a folder take; of a folder too large to
// count in time, what was counted.
func folderSize(ctx context.Context, dir string) string {
	ctx, cancel := context.WithTimeout(ctx, counting)
	defer cancel()
	var sum int64
	err := filepath.WalkDir(dir, func(_ string, e fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil || !e.Type().IsRegular() {
			return nil // gone meanwhile, or not to be read: counted as nothing
		}
		if info, err := e.Info(); err == nil {
			sum += info.Size()
		}
		return nil
	})
	if errors.Is(err, context.DeadlineExceeded) {
		return "more than " + sizeWords(sum)
	}
	return sizeWords(sum)
}

// sizeWords say a size to a tenth below ten of its unit.
func sizeWords(n int64) string {
	const step = 1024
	v, units := float64(n), []string{"bytes", "KiB", "MiB", "GiB", "TiB"}
	for v >= step && len(units) > 1 {
		v, units = v/step, units[1:]
	}
	if v < 10 && units[0] != "bytes" {
		return say.Unit(say.Fixed(v, 1), units[0])
	}
	return say.Unit(say.Fixed(v, 0), units[0])
}

// keepSettings keeps what the form says.
func (s *Server) keepSettings(r *http.Request) (string, *shown, error) {
	w := s.workshop(r.Context())
	if staleRev(r, w.Header()) {
		return "", nil, beatwright.ErrStale
	}
	f := fill(r, "name", "place", "who", "currency", "theme", "day_from", "day_to")
	f.Text["currency"] = strings.ToUpper(f.Text["currency"])
	w.Name, w.Place, w.Who, w.Currency, w.Theme = f.Text["name"], f.Text["place"], f.Text["who"], f.Text["currency"], f.Text["theme"]
	if _, err := beatwright.ParseMoney("0", w.Currency); err != nil {
		f.say("currency", "is "+strconv.Quote(w.Currency)+"; want the three letters of a currency, such as EUR")
	}
	for field, into := range map[string]*int{"day_from": &w.DayFrom, "day_to": &w.DayTo} {
		if r.PostFormValue(field) == "" {
			continue // an older form: as it was
		}
		n, err := strconv.Atoi(f.Text[field])
		if err != nil || n < 0 || n > 24 {
			f.say(field, "is "+strconv.Quote(f.Text[field])+"; want an hour from 0 to 24")
			continue
		}
		*into = n
	}
	if len(f.Wrong) == 0 && w.DayFrom >= w.DayTo {
		f.say("day_to", "is not after the beginning; want a later hour")
	}
	if len(f.Wrong) > 0 {
		return "", &shown{Title: "Not kept yet", Nav: "Settings", View: s.settingsView(r.Context(), w, f)}, nil
	}
	_, err := s.bench.Apply(r.Context(), beatwright.Change{Who: w.Who, What: "settings changed", Put: []beatwright.Thing{w}})
	return "/settings", nil, err
}
