package plot

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestGallery holds every drawing to its picture in testdata.
func TestGallery(t *testing.T) {
	pictures := gallery(t)
	for _, name := range slices.Sorted(maps.Keys(pictures)) {
		t.Run(name, func(t *testing.T) {
			sound(t, pictures[name])
			golden(t, name+".svg", string(pictures[name].Inline(name)))
		})
	}
}

// TestInlineObeysThePage: a page forbids styles and scripts in its text, and
// its colours follow the theme.
func TestInlineObeysThePage(t *testing.T) {
	seen := map[string]bool{}
	for name, p := range gallery(t) {
		got := string(p.Inline(name))
		for _, not := range []string{"style", "<script", "var(", "rgb", "xlink"} {
			if strings.Contains(got, not) {
				t.Errorf("%s has %q within", name, not)
			}
		}
		if strings.Contains(strings.ReplaceAll(got, "url(#"+name+"-hatch", ""), "#") {
			t.Errorf("%s has a colour, or a name that is not its own", name)
		}
		for _, id := range ids(t, got) {
			if seen[id] {
				t.Errorf("%s has the id %q of another picture", name, id)
			}
			seen[id] = true
		}
		if p.Title != "" && (!strings.Contains(got, `role="img"`) || !strings.Contains(got, "<title ")) {
			t.Errorf("%s does not say what it is", name)
		}
	}
	if strings.Contains(PageStyle, "#") {
		t.Error("the page's style has a colour of its own")
	}
	if strings.Contains(alone, "var(") {
		t.Error("a picture that stands alone has a variable without value")
	}
}

func ids(t *testing.T, text string) []string {
	t.Helper()
	var out []string
	eachElement(t, text, func(e xml.StartElement) {
		for _, a := range e.Attr {
			if a.Name.Local == "id" {
				out = append(out, a.Value)
			}
		}
	})
	return out
}

func eachElement(t testing.TB, text string, f func(xml.StartElement)) {
	t.Helper()
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			f(e)
		}
	}
}

// TestStyled: every class that a drawing uses is named in the style.
func TestStyled(t *testing.T) {
	for name, p := range gallery(t) {
		eachElement(t, string(p.Inline(name)), func(e xml.StartElement) {
			for _, a := range e.Attr {
				if a.Name.Local != "class" {
					continue
				}
				for _, class := range strings.Fields(a.Value) {
					// These stand for what the element is by itself, or name it
					// for a page.
					if !strings.Contains(PageStyle, "."+class) && !slices.Contains([]string{"area", "bar"}, class) && !(e.Name.Local == "text" && class == "ink") {
						t.Errorf("%s: no style for class %q of %s", name, class, e.Name.Local)
					}
				}
			}
		})
	}
}

// slack is how far a mark may stand out of its picture, px: half a heavy line,
// or the line of now that joins the rows.
const slack = 2

// sound checks that a picture has only finite places, all within it, words
// included.
func sound(t interface {
	Helper()
	Errorf(string, ...any)
}, p *Picture,
) {
	t.Helper()
	if !finite(p.Width, p.Height) || p.Width <= 0 || p.Height <= 0 {
		t.Errorf("%s is %v by %v px", p.Title, p.Width, p.Height)
	}
	for _, m := range p.marks {
		for _, q := range m.points {
			l, r := q.X-m.size, q.X+m.size
			if m.kind == "text" {
				l, r = extent(m)
			}
			if !finite(q.X, q.Y, m.size) {
				t.Errorf("%s: %s %s has the place %v", p.Title, m.kind, m.pen, q)
			}
			if l < -slack || r > p.Width+slack || q.Y-m.size < -slack || q.Y+m.size > p.Height+slack {
				t.Errorf("%s: %s %s %q reaches from %v to %v at %v, out of %v by %v", p.Title, m.kind, m.pen, fmt.Sprint(m.words), l, r, q.Y, p.Width, p.Height)
			}
		}
	}
}

func extent(m mark) (from, to float64) {
	var words string
	for _, s := range m.words {
		words += s.Words
	}
	w, x := wide(words), m.points[0].X
	switch m.anchor {
	case "middle":
		return x - w/2, x + w/2
	case "end":
		return x - w, x
	}
	return x, x + w
}

func wellFormed(t *rapid.T, p *Picture) {
	sound(t, p)
	text := string(p.Inline("x"))
	for d := xml.NewDecoder(strings.NewReader(text)); ; {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
	}
}
