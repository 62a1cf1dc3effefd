package web

import (
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/internal/say"
)

// functions are what the templates may ask for.
var functions = template.FuncMap{
	"count":      say.Count,
	"day":        func(t time.Time) string { return t.Local().Format("2 Jan") },
	"weekday":    func(t time.Time) string { return t.Local().Format("Mon 2") },
	"longday":    func(t time.Time) string { return t.Local().Format("Monday 2 January 2006") },
	"clock":      func(t time.Time) string { return t.Local().Format("15:04") },
	"date":       func(d *beatwright.Date) string { return sayDate(d) },
	"isodate":    func(d *beatwright.Date) string { return isoDate(d) },
	"sentence":   say.Sentence,
	"join":       strings.Join,
	"lower":      lowerFirst,
	"upper":      strings.ToUpper,
	"inc":        func(i int) int { return i + 1 },
	"seconds":    say.Span,
	"deref":      func(b *bool) bool { return b != nil && *b },
	"has":        func(all []string, one string) bool { return slices.Contains(all, one) },
	"dict":       dict,
	"plural":     plural,
	"places":     func() []place { return places },
	"trimstop":   func(s string) string { return strings.TrimSuffix(s, ".") },
	"themes":     func() []tap { return themes },
	"conditions": func() []beatwright.Condition { return beatwright.Conditions },
}

// dict makes a map of pairs, to hand more than one thing to a piece.
func dict(pairs ...any) (map[string]any, error) {
	m := map[string]any{}
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict: %d values are no pairs", len(pairs))
	}
	for i := 0; i < len(pairs); i += 2 {
		k, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict: %v is no name", pairs[i])
		}
		m[k] = pairs[i+1]
	}
	return m, nil
}

func sayDate(d *beatwright.Date) string {
	if d == nil {
		return ""
	}
	return d.In(time.UTC).Format("2 January 2006")
}

func isoDate(d *beatwright.Date) string {
	if d == nil {
		return ""
	}
	return d.String()
}

func lowerFirst(s string) string {
	if s == "" {
		return ""
	}
	r := []rune(s)
	return strings.ToLower(string(r[0])) + string(r[1:])
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// inWords counts as a sentence does, up to twelve.
func inWords(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return say.Count(n)
}

func bytesInWords(n int64) string {
	switch {
	case n >= 1<<30:
		return say.Unit(fmt.Sprint(n>>30), "GiB")
	case n >= 1<<20:
		return say.Unit(fmt.Sprint(n>>20), "MiB")
	}
	return say.Unit(fmt.Sprint(n>>10), "KiB")
}

// pathOf keeps of an address only what lies on this server.
func pathOf(address string) string {
	u, err := url.Parse(address)
	if err != nil || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") {
		return "/"
	}
	out := u.EscapedPath()
	if u.RawQuery != "" {
		out += "?" + u.RawQuery
	}
	return out
}
