package hygiene_test

import (
	"slices"
	"strings"
	"testing"
)

// layer is a line of the table below: its packages may import packages of
// the lines above, and of no other.
type layer struct {
	packages []string // a trailing / means all below that folder
	knows    string   // why nothing further down may be imported
}

// layers is the order in which packages may use each other.
var layers = []layer{
	{[]string{"unit"}, "quantities mean the same to everyone, so they depend on no one"},
	{[]string{"estimate"}, "uncertainty is reckoned alike for every subject, so it knows none"},
	{[]string{"dsp"}, "it knows no watches, so that its functions can be checked against other programs'"},
	{[]string{
		"escapement", "balance", "train", "mainspring", "seal", "thread", "position", "movement",
		"hairspring", "handcheck", "nudge",
	}, "one subject a package, checked against its source alone; no sound and no jobs"},
	{[]string{"wave"}, "it finds what recurs in any dated series and knows no sound"},
	{[]string{"sound"}, "it reads sound of any kind and knows no watches"},
	{[]string{"synth"}, "it proves the engine, so it shares nothing with it"},
	{[]string{"beat"}, "it dates beats and does not say what they mean"},
	{[]string{"reading"}, "pure data, so that JSON, record and table can share it"},
	{[]string{"internal/say"}, "words and figures, for terminal, page and paper alike"},
	{[]string{"measure"}, "the engine knows no jobs and prints nothing"},
	{[]string{"round", "grade", "poise", "causes"}, "they judge readings, however those came about"},
	{[]string{"ear"}, "it follows sound as it comes and says when a watch is laid down; it knows no position and no job"},
	{[]string{"conduct"}, "it leads by what is heard and pressed, and keeps nothing"},
	{[]string{"intake"}, "what is asked and tried is data, whoever keeps the answers"},
	{[]string{""}, "the record knows no sound; storage is behind its interfaces"},
	{[]string{"internal/files", "internal/picture"}, "files and pictures know no record"},
	{[]string{"internal/sqlite"}, "storage knows neither page nor engine"},
	{[]string{"internal/explain", "internal/reckoning"}, "what a command and a page both give, without either"},
	{[]string{"internal/listen"}, "sources of sound do not know what is done with it"},
	{[]string{"internal/live"}, "the one place where sound and record meet; it knows no page"},
	{[]string{"internal/plot", "internal/sheet"}, "drawings and sheets know no page"},
	{[]string{"internal/demo"}, "it fills a workshop through the record's own door and knows no page"},
	{[]string{"internal/web"}, "the page does not know the command line"},
	{[]string{"internal/cli"}, "it starts everything, so nothing may start it"},
	{[]string{"cmd/", "internal/proof", "internal/termpicture"}, "programs, which nothing may start but a person"},
	{[]string{"internal/hygiene", "internal/shared", "internal/web/e2e"}, "for tests only"},
}

// narrower are packages that may use even less than the lines above them.
var narrower = map[string]struct {
	may []string
	why string
}{
	"synth":    {[]string{"unit", "sound"}, "it shares nothing with the engine it proves"},
	"movement": {[]string{"unit"}, "pure data"},
	"internal/web": {
		[]string{
			"unit", "estimate", "position", "movement", "sound", "reading", "measure", "round", "grade", "poise", "causes",
			"intake", "handcheck", "conduct", "", "internal/live", "internal/say", "internal/explain", "internal/reckoning", "internal/plot", "internal/sheet",
		},
		"the page asks the record through the root's interfaces, never the storage itself",
	},
}

// onlyIn are libraries that one package keeps to itself, so that changing
// them is changing that package.
var onlyIn = map[string][]string{
	"github.com/alecthomas/kong":   {"internal/cli"},
	"github.com/coder/websocket":   {"internal/web"},
	"github.com/mewkiz/flac":       {"sound"},
	"github.com/hajimehoshi/go-mp": {"sound"},
	"github.com/pion/opus":         {"sound"},
	"modernc.org/sqlite":           {"internal/sqlite"},
	"github.com/pressly/goose":     {"internal/sqlite"},
}

func TestImportsPointOneWay(t *testing.T) {
	for _, s := range sources(t) {
		if s.test {
			continue // a test may use what it compares with
		}
		from, ok := lineOf(s.pkg)
		if !ok {
			t.Errorf("%s: package %q has no line in the table of layers; give it one, with its reason", s.path, s.pkg)
			continue
		}
		for _, i := range s.imports {
			checkImport(t, s, from, i)
		}
	}
}

func checkImport(t *testing.T, s source, from int, path string) {
	t.Helper()
	if path == "C" {
		t.Errorf("%s imports C: the plain build needs no C compiler", s.path)
	}
	for library, users := range onlyIn {
		if strings.HasPrefix(path, library) && !slices.Contains(users, s.pkg) {
			t.Errorf("%s imports %s, which only %s may", s.path, path, strings.Join(users, ", "))
		}
	}
	to, ours := strings.CutPrefix(path, module)
	if !ours || to != "" && to[0] != '/' {
		return
	}
	to = strings.TrimPrefix(to, "/")
	if line, ok := lineOf(to); ok && line >= from {
		t.Errorf("%s imports %q: %q stands on line %d and %q on line %d; %s",
			s.path, to, s.pkg, from+1, to, line+1, layers[from].knows)
	}
	if n, ok := narrower[s.pkg]; ok && !slices.Contains(n.may, to) {
		t.Errorf("%s imports %q, but %q may use only %q: %s", s.path, to, s.pkg, n.may, n.why)
	}
}

func lineOf(pkg string) (int, bool) {
	for i, l := range layers {
		for _, p := range l.packages {
			if p == pkg || strings.HasSuffix(p, "/") && strings.HasPrefix(pkg, p) {
				return i, true
			}
		}
	}
	return 0, false
}

func TestEveryLayerHasAReason(t *testing.T) {
	seen := map[string]bool{}
	for i, l := range layers {
		if l.knows == "" {
			t.Errorf("line %d has no reason", i+1)
		}
		for _, p := range l.packages {
			if seen[p] {
				t.Errorf("%q stands on two lines", p)
			}
			seen[p] = true
		}
	}
}
