package conduct

import (
	"fmt"
	"math"
	"strings"

	"beatwright/internal/say"
	"beatwright/position"
	"beatwright/unit"
)

// Doing is the doing line: what is done, how long, and what the hands should do.
type Doing struct {
	Lead string `json:"lead"` // "Listening in 3H, crown up."
	Rest string `json:"rest"` // "Sure enough in about 40 s; then turn to 6H."
	// Turn is the position wanted when the watch must be turned, else None.
	Turn position.Position `json:"turn,omitempty"`
	// Stop says that something went wrong and the hands are needed.
	Stop bool `json:"stop,omitempty"`
	// Part is how far the present step is, 0 to 1.
	Part float64 `json:"part"`
	// Acts are what may be pressed now, the likeliest first.
	Acts []Choice `json:"acts,omitempty"`
	// Advice is plain advice on the sound; who hears it fills it in.
	Advice []string `json:"advice,omitempty"`
}

// Choice is an act that may be done now.
type Choice struct {
	Act  Act    `json:"do"`
	Name string `json:"name"` // "Keep this"
	Key  string `json:"key"`  // as a keyboard event names it, " " for space
	// Wanted marks what the hands should do next.
	Wanted bool `json:"wanted,omitempty"`
}

// The keys of the acts.
const (
	keyAccept = " "
	keyRepeat = "r"
	keySkip   = "n"
	keyWait   = "w"
	keyLonger = "l"
	keyStop   = "s"
)

// Doing says what the round is doing and what the hands should do.
func (r *Round) Doing() Doing {
	stop := Choice{Act: Stop, Name: "Keep and stop", Key: keyStop}
	switch {
	case r.phase == Ended:
		return Doing{Lead: "That is all.", Rest: r.summary(), Part: 1}
	case r.phase == Waiting:
		return Doing{Lead: "Waiting.", Rest: "Nothing is kept meanwhile.", Acts: []Choice{{Act: Accept, Name: "Go on", Key: keyAccept, Wanted: true}, stop}}
	case r.phase == Asking && r.at < 0:
		return Doing{
			Lead: fmt.Sprintf("Is %s right?", r.places[r.last].Position), Rest: say.Sentence(r.places[r.last].Query),
			Acts: []Choice{{Act: Repeat, Name: "Hear it again", Key: keyRepeat, Wanted: true}, {Act: Accept, Name: "Keep it", Key: keyAccept}},
		}
	case r.phase == Turn || r.phase == Asking:
		return r.turning(stop)
	}
	return r.doingListen(stop)
}

func (r *Round) turning(stop Choice) Doing {
	p := r.places[r.at]
	d := Doing{Lead: turnTo(p.Position, r.Crown), Turn: p.Position}
	d.Acts = append(d.Acts, Choice{Act: Accept, Name: "It lies so", Key: keyAccept})
	if r.last >= 0 {
		d.Acts = append(d.Acts, Choice{Act: Repeat, Name: "Hear " + r.places[r.last].Position.String() + " again", Key: keyRepeat})
	}
	if r.last >= 0 && r.phase == Turn {
		d.Acts = append(d.Acts, Choice{Act: Longer, Name: "Listen longer", Key: keyLonger})
	}
	d.Acts = append(d.Acts, Choice{Act: Skip, Name: "Skip", Key: keySkip}, stop)
	switch {
	case r.phase == Asking:
		last := r.places[r.last]
		d.Rest = fmt.Sprintf("%s is doubtful: %s.", last.Position, last.Query)
		d.Acts[1].Wanted = true
	case r.now.Disturbed && r.now.Lying.Number > 0:
		d.Rest = "Hands heard."
	case r.remark != "":
		d.Rest = r.remark
	case p.Repeat:
		d.Rest = "Once more, as a check; or stop here."
	case r.last >= 0:
		d.Rest = "Sure enough here."
		if n := r.places[r.last]; n.Reading == nil {
			d.Rest = ""
		}
	default:
		d.Rest = "It begins by itself."
	}
	return d
}

func (r *Round) doingListen(stop Choice) Doing {
	p := r.places[r.at]
	where := p.Position.String() + ", " + p.Position.Words(r.Crown) + "."
	keep := Choice{Act: Accept, Name: "Keep this", Key: keyAccept}
	d := Doing{Lead: "Listening in " + where, Part: r.part()}
	if r.lost {
		d.Lead, d.Stop = "No beats for "+about(r.now.Quiet)+".", true
		d.Rest = "Stopped, or off the pickup? What was heard in " + p.Position.String() + " is held."
		keep.Wanted = r.heard != nil
		d.Acts = []Choice{keep, {Act: Repeat, Name: "Hear again", Key: keyRepeat}, stop}
		if r.heard == nil {
			d.Acts = d.Acts[1:]
		}
		return d
	}
	if r.phase == Settling && r.heard != nil {
		d.Lead = "Settling in " + where
	}
	then := "then that is all."
	if n := r.nextAfter(); n != position.None {
		then = "then turn to " + n.String() + "."
	}
	switch {
	case r.now.Disturbed:
		d.Rest = "A noise covers the beats; it goes on by itself."
	case r.heard == nil && r.refused != nil && r.span > 4:
		d.Rest = say.Sentence(r.refused.Why)
	case r.heard == nil:
		d.Rest = "Beats heard; the first reading is near."
	case r.wide(r.heard) != "":
		d.Rest = say.Sentence(r.wide(r.heard))
	case r.longer:
		d.Rest = "Listening on, " + about(r.span) + " so far."
	default:
		d.Rest = fmt.Sprintf("Sure enough in about %s; %s", about(r.Want.left(r.heard, r.span)), then)
	}
	if r.remark != "" {
		d.Rest = r.remark + " " + d.Rest
	}
	if r.heard != nil {
		d.Acts = append(d.Acts, keep)
	}
	d.Acts = append(d.Acts, Choice{Act: Wait, Name: "Wait", Key: keyWait}, Choice{Act: Repeat, Name: "From anew", Key: keyRepeat}, stop)
	return d
}

func (r *Round) part() float64 {
	if r.heard == nil {
		return 0
	}
	left := r.Want.left(r.heard, r.span)
	return math.Min(1, float64(r.span)/float64(r.span+left))
}

// nextAfter is the position that comes after the present one.
func (r *Round) nextAfter() position.Position {
	for k := range r.places {
		if j := (r.at + 1 + k) % len(r.places); j != r.at && r.places[j].State == Open {
			return r.places[j].Position
		}
	}
	return position.None
}

// Got is what a place says beside its symbol.
func (r *Round) Got(i int) []string {
	p := r.places[i]
	switch {
	case p.State == Heard && p.Reading != nil:
		rate := say.Dash
		if p.Reading.Rate != nil {
			rate = say.Unit(say.Signed(p.Reading.Rate.Value, math.Max(1, p.Reading.Rate.U95Statistical)), "s/d")
		}
		return []string{rate, swingOf(p)}
	case p.State == Heard:
		return []string{"heard"}
	case p.State == Skipped:
		return []string{"skipped"}
	case i == r.at && r.listening():
		return []string{strings.ToLower(string(r.phase)) + ", " + about(r.span)}
	case i == r.at && r.phase != Waiting:
		return []string{"turn to this"}
	}
	return nil
}

func swingOf(p Place) string {
	a := p.Reading.Amplitude
	if a.Value == nil {
		return "swing not told"
	}
	v := say.Unit(say.Fixed(*a.Value, 0), "°")
	if _, ok := swing(p.Reading); !ok {
		return "at most " + v
	}
	return v
}

func (r *Round) summary() string {
	n, last := 0, ""
	for _, p := range r.places {
		if p.State == Heard {
			n++
		}
		if p.Repeat && p.Reading != nil {
			last = " " + p.Position.String() + " came out the same again."
			if p.Query != "" {
				last = " " + p.Position.String() + " again is doubtful: " + p.Query + "."
			}
		}
	}
	switch n {
	case 0:
		return "Nothing was kept."
	case 1:
		return "One position is kept." + last
	}
	return fmt.Sprintf("%d readings are kept.%s", n, last)
}

// spoken is what is said aloud when the watch is to be turned.
func (r *Round) spoken() string {
	p := r.places[r.at].Position
	words := p.Words(r.Crown)
	if p.Flat() {
		return "Now " + words + "."
	}
	return "Turn to " + words + ", " + hourWords(p.HourUp()) + " up."
}

func hourWords(h float64) string {
	whole := int(h)
	s := fmt.Sprint(whole)
	if h != math.Floor(h) {
		s = fmt.Sprintf("half past %d", whole)
	}
	return s
}

func turnTo(p position.Position, crown float64) string {
	if p.Flat() {
		return "Lay it " + p.Words(crown) + ", " + p.String() + "."
	}
	return "Turn to " + p.String() + ", " + p.Words(crown) + "."
}

// about is a time as one says it: "24 s", "2 min".
func about(t unit.Seconds) string {
	if t < 90 {
		return say.Unit(say.Fixed(float64(t), 0), "s")
	}
	return say.Unit(say.Fixed(float64(t)/60, 1), "min")
}
