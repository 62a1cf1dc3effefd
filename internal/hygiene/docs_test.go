package hygiene_test

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"
)

func read(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, path))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestDependenciesHaveReasons: each module that the code or its tests import
// has a line in docs/dependencies.md, and no other module has.
func TestDependenciesHaveReasons(t *testing.T) {
	doc := read(t, "docs/dependencies.md")
	used := map[string]bool{}
	for _, s := range sources(t) {
		for _, i := range s.imports {
			if m := moduleOf(t, i); m != "" {
				used[m] = true
			}
		}
	}
	for m := range used {
		if !strings.Contains(doc, "\n| `"+m+"` |") {
			t.Errorf("docs/dependencies.md gives no reason for %s", m)
		}
	}
	for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)` \\|").FindAllStringSubmatch(doc, -1) {
		if !used[m[1]] {
			t.Errorf("docs/dependencies.md speaks of %s, which nothing imports", m[1])
		}
	}
}

// moduleOf gives the module of go.mod that a package belongs to, or "" for
// the project's own and the standard library's.
func moduleOf(t *testing.T, pkg string) string {
	t.Helper()
	first, _, _ := strings.Cut(pkg, "/")
	if !strings.Contains(first, ".") {
		return ""
	}
	best := ""
	for line := range strings.SplitSeq(read(t, "go.mod"), "\n") {
		fields := strings.Fields(strings.TrimPrefix(line, "require "))
		if len(fields) >= 2 && strings.HasPrefix(fields[1], "v") && len(fields[0]) > len(best) &&
			(pkg == fields[0] || strings.HasPrefix(pkg, fields[0]+"/")) {
			best = fields[0]
		}
	}
	if best == "" {
		t.Errorf("go.mod requires no module for %s", pkg)
	}
	return best
}

// TestLinksLead: a link in a document to a file of the project leads there.
func TestLinksLead(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#:]+)(#[^)]*)?\)|(?:src|srcset)="([^"#:]+)"`)
	for _, path := range files(t) {
		if !strings.HasSuffix(path, ".md") {
			continue
		}
		for _, m := range link.FindAllStringSubmatch(read(t, path), -1) {
			to := m[1] + m[3]
			if _, err := os.Stat(filepath.Join(root, filepath.Dir(path), to)); err != nil {
				t.Errorf("%s: link to %s leads nowhere", path, to)
			}
		}
	}
}

// testCommand is the one command that tests everything.
const testCommand = "go test -p 1 -timeout 20m ./..."

// TestReadmeCommands: the README's test command is the one that CI runs, and
// its first screen holds both commands.
func TestReadmeCommands(t *testing.T) {
	readme := read(t, "README.md")
	if !strings.Contains(readme, "\n"+testCommand+"\n") {
		t.Errorf("README.md does not give %q on a line of its own", testCommand)
	}
	if !strings.Contains(readme, "go run ./cmd/beatwright ") {
		t.Error("README.md does not say how to run the program from a checkout")
	}
	lines := strings.Split(strings.TrimSpace(read(t, ".ci/run")), "\n")
	if last := lines[len(lines)-1]; last != testCommand {
		t.Errorf(".ci/run ends with %q, want %q, so that its closing lines are the test's", last, testCommand)
	}
}

// TestSourcesAreKnown: a source cited by key in a document stands in
// docs/sources.md.
func TestSourcesAreKnown(t *testing.T) {
	sources := read(t, "docs/sources.md")
	keys := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^- \*\*\[([A-Za-z0-9-]+)\]\*\*`).FindAllStringSubmatch(sources, -1) {
		if keys[m[1]] {
			t.Errorf("docs/sources.md gives the key %s twice", m[1])
		}
		keys[m[1]] = true
	}
	if len(keys) == 0 {
		t.Fatal("docs/sources.md has no keys")
	}
	cite := regexp.MustCompile(`(^|[^\]!])\[([A-Z][A-Za-z0-9-]*[0-9]{2,4}[a-z]?)\]([^(]|$)`)
	for _, path := range files(t) {
		if !strings.HasSuffix(path, ".md") {
			continue
		}
		for _, m := range cite.FindAllStringSubmatch(read(t, path), -1) {
			if !keys[m[2]] {
				t.Errorf("%s cites [%s], which docs/sources.md does not have", path, m[2])
			}
		}
	}
}

// TestChangelog: each user-visible change is a file that says what was and
// what is.
func TestChangelog(t *testing.T) {
	found := 0
	for _, path := range files(t) {
		if !strings.HasPrefix(path, "changelog/unreleased/") {
			continue
		}
		found++
		text := read(t, path)
		if !regexp.MustCompile(`^(Added|Changed|Fixed|Removed): [^\n]{10,90}\n\n[^\n]`).MatchString(text) {
			t.Errorf("%s does not begin with a line such as \"Added: …\", an empty line and what was and is", path)
		}
	}
	if found == 0 {
		t.Error("changelog/unreleased holds nothing")
	}
}

// TestPlainText: text files are UTF-8, end with a line end, and hold neither
// carriage returns nor spaces at the ends of lines.
func TestPlainText(t *testing.T) {
	for _, path := range files(t) {
		switch filepath.Ext(path) {
		case ".md", ".go", ".mod", ".svg", ".txtar":
		default:
			if path != ".ci/run" {
				continue
			}
		}
		text := []byte(read(t, path))
		switch {
		case !utf8.Valid(text):
			t.Errorf("%s is not UTF-8", path)
		case bytes.Contains(text, []byte("\r")):
			t.Errorf("%s holds carriage returns", path)
		case len(text) > 0 && text[len(text)-1] != '\n':
			t.Errorf("%s does not end with a line end", path)
		case strings.HasSuffix(path, ".md") && regexp.MustCompile(`(?m)[ \t]$`).Match(text):
			t.Errorf("%s has spaces at the end of a line", path)
		}
	}
}

// TestNoPlaceNames: the project does not speak of the machine it was made on.
func TestNoPlaceNames(t *testing.T) {
	private := regexp.MustCompile(`(^|[^.\w])/(work|farm|root|home)/\w|C:\\\\Users`)
	for _, path := range files(t) {
		if strings.HasPrefix(path, "internal/hygiene/") || strings.HasSuffix(path, ".sum") {
			continue
		}
		text := read(t, path)
		if !utf8.ValidString(text) {
			continue
		}
		if m := private.FindString(text); m != "" {
			t.Errorf("%s speaks of a place on some machine: %q", path, m)
		}
	}
}
