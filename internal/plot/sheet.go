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

// Stack sets pictures one above another.
func Stack(title string, pictures ...*Picture) *Picture {
	all := &Picture{Title: title}
	for _, p := range pictures {
		all.Width = math.Max(all.Width, p.Width)
		for _, m := range p.marks {
			moved := make([]Point, len(m.points))
			for i, q := range m.points {
				moved[i] = Point{q.X, q.Y + all.Height}
			}
			m.points = moved
			all.marks = append(all.marks, m)
		}
		all.Height += p.Height
	}
	return all
}
