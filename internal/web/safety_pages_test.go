package web_test

import (
	"encoding/json"
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"beatwright/internal/demo"
)

var (
	startTag  = regexp.MustCompile(`^<([a-zA-Z][a-zA-Z0-9-]*)((?:\s+[^\s"'<>/=]+(?:\s*=\s*(?:"[^"]*"|'[^']*'|[^\s"'=<>` + "`" + `]+))?)*)\s*/?>`)
	otherTag  = regexp.MustCompile(`^(?:</[a-zA-Z][a-zA-Z0-9-]*\s*>|<!(?i:doctype) html>|<!--[^<>]*-->)`)
	attribute = regexp.MustCompile(`([^\s"'<>/=]+)(?:\s*=\s*("[^"]*"|'[^']*'|[^\s"'=<>` + "`" + `]+))?`)
)

// element is a start tag as the page has it.
type element struct {
	name string
	attr map[string]string
}

// elements reads a page's tags. Anything that begins like a tag and is none of
// the plain ones is an error: a browser might make something of it.
func elements(t *testing.T, where, page string) []element {
	t.Helper()
	var out []element
	for {
		i := strings.IndexByte(page, '<')
		if i < 0 {
			return out
		}
		page = page[i:]
		if m := otherTag.FindString(page); m != "" {
			page = page[len(m):]
			continue
		}
		m := startTag.FindStringSubmatch(page)
		if m == nil {
			t.Errorf("%s: not a plain tag: %.120q", where, page)
			page = page[1:]
			continue
		}
		e := element{strings.ToLower(m[1]), map[string]string{}}
		for _, a := range attribute.FindAllStringSubmatch(m[2], -1) {
			e.attr[strings.ToLower(a[1])] = html.UnescapeString(strings.Trim(a[2], `"'`))
		}
		out = append(out, e)
		page = page[len(m[0]):]
	}
}

// strictPage holds a page to what its policy allows, whether or not a browser
// would enforce it: no script and no style that stands in it, nothing from
// elsewhere.
func strictPage(t *testing.T, where, page string) []element {
	t.Helper()
	all := elements(t, where, page)
	for _, e := range all {
		for name, value := range e.attr {
			link := slices.Contains([]string{"href", "src", "action", "formaction", "data-later", "poster", "xlink:href"}, name)
			switch {
			case name == "style" || strings.HasPrefix(name, "on") || name == "srcdoc":
				t.Errorf("%s: <%s> has %s=%q", where, e.name, name, value)
			case link && !ownAddress(value):
				t.Errorf("%s: <%s> leads away by %s=%q", where, e.name, name, value)
			}
		}
		if _, src := e.attr["src"]; e.name == "script" && !src || slices.Contains([]string{"style", "iframe", "object", "embed", "base"}, e.name) {
			t.Errorf("%s: holds a <%s> of its own", where, e.name)
		}
	}
	return all
}

// ownAddress tells whether a link stays with this program.
func ownAddress(link string) bool {
	u, err := url.Parse(link)
	own := err == nil && u.Host == "" && (u.Scheme == "" || u.Scheme == "mailto" || u.Scheme == "tel") && !strings.HasPrefix(link, "//")
	return own && !strings.ContainsAny(link, "\\\n\t")
}

// patterns are the addresses of all pages, read from the source.
func patterns(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`s\.page\(mux, "([^"]+)"`)
	var out []string
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range found.FindAllStringSubmatch(string(b), -1) {
			out = append(out, m[1])
		}
	}
	if len(out) < 10 {
		t.Fatalf("only %d pages found in the source", len(out))
	}
	return out
}

// filled is the invented workshop, with one recording and names that would act
// if a page let them.
func filled(t *testing.T) *workshop {
	t.Helper()
	w := newWorkshop(t)
	if _, err := demo.Fill(t.Context(), w.bench, demo.NewClock(w.bench.Now)); err != nil {
		t.Fatal(err)
	}
	bad := `"'><script>alert(1)</script><img src=x onerror=alert(2)>` + "`{{.}}"
	st, _ := w.post("/jobs", "kind", "alarm "+bad, "marks", bad, "owner", bad, "complaint", bad, "phone", bad, "mail", bad, "case", bad, "about", bad)
	if st != http.StatusOK {
		t.Fatalf("a job with odd names: %d", st)
	}
	number := w.jobs()[0].Number
	for _, sent := range []struct {
		path   string
		fields []string
	}{
		{"/jobs/" + number + "/notes", []string{"text", bad, "due", "2026-12-01"}},
		{"/settings", []string{"name", bad, "who", bad}},
		{"/settings/questions", []string{"words", bad, "group", "closed"}},
		{"/movements", []string{"name", bad}},
	} {
		if st, text := w.post(sent.path, sent.fields...); st != http.StatusOK && st != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d %.200s", sent.path, st, text)
		}
	}
	w.send("/jobs/"+number+"/pictures", map[string]string{"says": bad}, part{"picture", bad + ".png", painting(t, 60, 40, 9)})
	w.send("/jobs/"+number+"/hearings", map[string]string{"note": bad}, part{"sound", bad + ".wav", clip{rate: 5, beatError: 1, amplitude: 250, noise: 40}.wav(t)})
	w.send("/jobs/"+number+"/hearings", map[string]string{"note": bad}, part{"sound", bad + ".wav", clip{none: true}.wav(t)})
	return w
}

// TestEveryPageKeepsToThePolicy walks the filled workshop from its first page
// by its links, and so meets every page there is.
func TestEveryPageKeepsToThePolicy(t *testing.T) {
	w := filled(t)
	met := map[string]int{}
	mux := http.NewServeMux()
	for _, p := range patterns(t) {
		mux.HandleFunc(p, func(http.ResponseWriter, *http.Request) {})
	}
	seen := map[string]bool{"/": true}
	for queue := []string{"/"}; len(queue) > 0; queue = queue[1:] {
		links := w.visit(queue[0])
		r, _ := http.NewRequest("GET", queue[0], nil)
		if _, pattern := mux.Handler(r); pattern != "" {
			met[pattern]++
		}
		for _, l := range links {
			if !seen[l] {
				seen[l] = true
				queue = append(queue, l)
			}
		}
	}
	for _, p := range patterns(t) {
		if met[p] == 0 {
			t.Errorf("no link leads to a page %s", p)
		}
	}
	t.Logf("%d addresses", len(seen))
}

// visit looks at what is at an address and gives where its links lead.
func (w *workshop) visit(path string) []string {
	w.t.Helper()
	res, err := w.Client().Get(w.URL + path)
	if err != nil {
		w.t.Fatal(err)
	}
	st, text := read(w.t, res)
	if st != http.StatusOK {
		w.t.Errorf("%s: %d", path, st)
	}
	policy := res.Header.Get("Content-Security-Policy")
	if res.Header.Get("Content-Type") == "image/svg+xml" { // a drawing to take away, with the style it needs elsewhere
		policy = strings.TrimSuffix(policy, "; style-src 'unsafe-inline'; sandbox")
	}
	if !strings.Contains(policy, "default-src 'none'") || strings.Contains(policy, "unsafe") || strings.Contains(policy, "http") || strings.Contains(policy, "*") {
		w.t.Errorf("%s: its policy is %q", path, policy)
	}
	if res.Header.Get("X-Content-Type-Options") != "nosniff" {
		w.t.Errorf("%s: its kind may be guessed", path)
	}
	if kind := res.Header.Get("Content-Type"); !strings.HasPrefix(kind, "text/html") {
		return nil
	}
	if bad := regexp.MustCompile(`NaN|[^a-z]Inf |%!|<nil>|&lt;nil&gt;|ZgotmplZ`).FindString(text); bad != "" {
		w.t.Errorf("%s: says %q", path, bad)
	}
	w.asJSON(path)
	var links []string
	for _, e := range strictPage(w.t, path, text) {
		link := e.attr["href"]
		if e.name != "a" && e.name != "link" || strings.HasPrefix(link, "#") || !strings.HasPrefix(link, "/") {
			continue
		}
		link, _, _ = strings.Cut(link, "#")
		links = append(links, link)
	}
	return links
}

// asJSON asks for the page's own data; a file beside a page has none.
func (w *workshop) asJSON(path string) {
	w.t.Helper()
	plain, query, _ := strings.Cut(path, "?")
	if plain == "/" {
		plain = "/due"
	}
	st, text := w.get(plain + ".json?" + query)
	if st != http.StatusOK || !json.Valid([]byte(text)) {
		w.t.Errorf("%s.json: %d, valid JSON: %v", plain, st, json.Valid([]byte(text)))
	}
}
