package plot

import "math"

// Head is what stands over a drawing: the sentences said of the watch, and
// under them what was heard.
func Head(heard string, said ...Span) *Picture {
	p := &Picture{Width: pictureWidth, Height: 84}
	p.Sentence(Point{left, 40}, said...)
	p.Text(Second, Point{left, 66}, "start", heard, false)
	return p
}

// Stack sets pictures one above another; each says what it shows.
func Stack(title string, pictures ...*Picture) *Picture {
	all := &Picture{Title: title}
	for _, p := range pictures {
		all.Width = math.Max(all.Width, p.Width)
		all.lay(p, Point{0, all.Height})
		all.Height += p.Height
		if all.Desc != "" && p.Desc != "" {
			all.Desc += " "
		}
		all.Desc += p.Desc
	}
	return all
}

// Beside sets pictures side by side, gap px apart.
func Beside(title string, gap float64, pictures ...*Picture) *Picture {
	all := &Picture{Title: title}
	for i, p := range pictures {
		if i > 0 {
			all.Width += gap
		}
		all.lay(p, Point{all.Width, 0})
		all.Width += p.Width
		all.Height = math.Max(all.Height, p.Height)
	}
	return all
}

// Framed sets a picture within margins.
func Framed(p *Picture, margin float64) *Picture {
	all := &Picture{Width: p.Width + 2*margin, Height: p.Height + 2*margin, Title: p.Title, Desc: p.Desc}
	all.lay(p, Point{margin, margin})
	return all
}

// lay sets the marks of a picture with its upper left at a point.
func (p *Picture) lay(q *Picture, at Point) {
	for _, m := range q.marks {
		moved := make([]Point, len(m.points))
		for i, r := range m.points {
			moved[i] = Point{r.X + at.X, r.Y + at.Y}
		}
		m.points = moved
		p.marks = append(p.marks, m)
	}
}
