package plot

import (
	"fmt"
	"math"
	"strings"
	"time"

	"beatwright/internal/say"
)

// Day is the shared axis of what is due: hours of one day, and now.
type Day struct {
	From, To, Now time.Time
}

// Due is when one thing wants doing: between From and To, or by To, or, if
// both are zero, at any time of the day.
type Due struct {
	From, To time.Time
}

// Places on the day's axis, px.
const (
	dayWidth, dayHead, dayRow = 392.0, 46.0, 77.0
	dayLeft, dayRight         = 10.0, 382.0
	dueFrom, dueTo, dueWords  = 22.0, 36.0, 57.0
)

func (d Day) axis() axis {
	return axis{0, math.Max(d.To.Sub(d.From).Hours(), 1), dayLeft, dayRight}
}

// at is the place of a moment, held to the day.
func (d Day) at(t time.Time) float64 { return d.axis().within(t.Sub(d.From).Hours()) }

// Head draws the hours and the name of now.
func (d Day) Head() *Picture {
	p := &Picture{Width: dayWidth, Height: dayHead, Title: "Hours of the day", Desc: "Now it is " + clock(d.Now) + "."}
	x := d.axis()
	first := time.Duration(math.Ceil(float64(sinceMidnight(d.From))/float64(time.Hour))) * time.Hour
	every := 1
	for float64(every)*(dayRight-dayLeft)/x.high < 50 {
		every++
	}
	for i := 0; ; i++ {
		h := (first + time.Duration(i)*time.Hour - sinceMidnight(d.From)).Hours()
		if h > x.high+1e-9 {
			break
		}
		p.Line(Axis, Point{x.at(h), 40}, Point{x.at(h), dayHead})
		if i%every == 0 {
			p.Text(Second, Point{x.at(h), 35}, "middle", say.Count((int(first.Hours())+i)%24), false)
		}
	}
	word := "now " + clock(d.Now)
	p.Text(Steel, Point{inside(d.at(d.Now), wide(word)/2, dayWidth), 14}, "middle", word, true)
	return p
}

func sinceMidnight(t time.Time) time.Duration {
	h, m, s := t.Clock()
	return time.Duration(h)*time.Hour + time.Duration(m)*time.Minute + time.Duration(s)*time.Second
}

func clock(t time.Time) string { return fmt.Sprintf("%d:%02d", t.Hour(), t.Minute()) }

// Late tells whether the time of a thing is past.
func (d Day) Late(u Due) bool { return !u.To.IsZero() && u.To.Before(d.Now) }

// Row draws one thing: its window solid, all day a thin line with posts, late
// hatched with dots to now.
func (d Day) Row(u Due) *Picture {
	p := &Picture{Width: dayWidth, Height: dayRow, Title: "When", Desc: d.Words(u).Sentence}
	now := d.at(d.Now)
	p.Line(Steel, Point{now, -1}, Point{now, dayRow + 1})
	from, to, mid := d.at(d.start(u)), d.at(u.To), (dueFrom+dueTo)/2
	switch {
	case u.To.IsZero():
		from, to = dayLeft, dayRight
		p.posted(from, to)
	case d.Late(u):
		if to-from < 6 {
			from, to = math.Max(dayLeft, to-6), math.Max(dayLeft+6, to)
		}
		box := []Point{{from, dueFrom}, {to, dueFrom}, {to, dueTo}, {from, dueTo}}
		p.Area(Paper, box...)
		p.HatchInk(box...)
		p.Line(Thin, append(box, box[0])...)
		if now > to {
			p.Dotted(Thin, Point{to, mid}, Point{now, mid})
		}
	case u.From.IsZero():
		p.posted(from, to)
	default:
		p.Bar(Ink, Point{math.Min(from, to-3), dueFrom}, Point{to, dueTo})
	}
	d.say(p, u, from, to)
	return p
}

// start is when a thing may begin; what is only due by a time may begin now,
// and if it is late is drawn as the hour before.
func (d Day) start(u Due) time.Time {
	switch {
	case !u.From.IsZero():
		return u.From
	case d.Late(u):
		return u.To.Add(-time.Hour)
	}
	return d.Now
}

// posted is a thin line between posts.
func (p *Picture) posted(from, to float64) {
	p.Line(Ink, Point{from, (dueFrom + dueTo) / 2}, Point{to, (dueFrom + dueTo) / 2})
	p.Line(Ink, Point{from, dueFrom + 1}, Point{from, dueTo - 1})
	p.Line(Ink, Point{to, dueFrom + 1}, Point{to, dueTo - 1})
}

// say sets the words under the mark, from its left where there is room, else
// to its right end, and off the line of now where that can be.
func (d Day) say(p *Picture, u Due, from, to float64) {
	words := d.Words(u).Sentence
	words = strings.TrimSuffix(words, ".")
	words = strings.ToLower(words[:1]) + words[1:]
	w, now := wide(words), d.at(d.Now)
	crosses := func(l float64) bool { return l < now+4 && l+w > now-4 }
	left, right := from, to-w
	switch {
	case left+w <= dayWidth && !crosses(left):
	case right >= 0 && !crosses(right):
		left = right
	case now+8+w <= dayWidth && from >= now:
		left = now + 8
	default:
		left = math.Min(left, dayWidth-w)
	}
	p.Label(Second, Point{math.Max(0, left), dueWords}, "start", words)
}

// Words says when a thing is due, or how late it is.
func (d Day) Words(u Due) Words {
	switch {
	case u.To.IsZero():
		return Words{Sentence: "Any time today."}
	case d.Late(u):
		return Words{Sentence: "Late by " + span(d.Now.Sub(u.To)) + "."}
	case u.From.IsZero():
		return Words{Sentence: "By " + clock(u.To) + "."}
	}
	return Words{Sentence: clock(u.From) + " to " + clock(u.To) + "."}
}

// span says how long in the two largest units.
func span(t time.Duration) string {
	m := int(t.Minutes())
	switch {
	case m < 60:
		return say.Unit(say.Count(m), "min")
	case m < 24*60:
		s := say.Unit(say.Count(m/60), "h")
		if m%60 > 0 {
			s += " " + say.Unit(say.Count(m%60), "min")
		}
		return s
	case m < 2*24*60:
		return "a day"
	}
	return say.Count(m/24/60) + " days"
}
