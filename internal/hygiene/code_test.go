package hygiene_test

import (
	"bytes"
	"go/format"
	"slices"
	"strings"
	"testing"
)

// TestPackageComment: each package has one comment, in one file, that begins
// as godoc wants it and says more than the name.
func TestPackageComment(t *testing.T) {
	comments := map[string][]string{}
	paths := map[string]string{}
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		paths[s.pkg] = s.path
		if s.syntax.Doc == nil {
			continue
		}
		text := s.syntax.Doc.Text()
		comments[s.pkg] = append(comments[s.pkg], s.path)
		name := s.syntax.Name.Name
		want := "Package " + name + " "
		if name == "main" {
			_, last, _ := cutLast("/"+s.pkg, "/")
			want = "Command " + last + " "
		}
		if !strings.HasPrefix(text, want) {
			t.Errorf("%s: package comment begins %.40q, want %q", s.path, text, want)
		}
		if len(text) < 80 {
			t.Errorf("%s: package comment of %d bytes; say what it does, what it does not, and its sources", s.path, len(text))
		}
	}
	for pkg, path := range paths {
		if n := len(comments[pkg]); n != 1 {
			t.Errorf("package of %s has %d package comments %v, want 1", path, n, comments[pkg])
		}
	}
}

// longest is the most lines of a Go file without a reason in longFiles.
const longest = 600

// longFiles are longer, with the reason.
var longFiles = map[string]string{}

func TestFilesAreShort(t *testing.T) {
	used := map[string]bool{}
	for _, s := range sources(t) {
		if n := bytes.Count(s.text, []byte("\n")); n > longest {
			if longFiles[s.path] == "" {
				t.Errorf("%s has %d lines, want at most %d; split it, or give the reason here", s.path, n, longest)
			}
			used[s.path] = true
		}
	}
	for path := range longFiles {
		if !used[path] {
			t.Errorf("%s is not long any more; take its reason away", path)
		}
	}
}

func TestFormatted(t *testing.T) {
	for _, s := range sources(t) {
		want, err := format.Source(s.text)
		if err != nil {
			t.Errorf("%s: %v", s.path, err)
		} else if !bytes.Equal(s.text, want) {
			t.Errorf("%s is not as gofmt leaves it", s.path)
		}
	}
}

// TestNoCgoFiles: the plain build is Go alone, so that every system can be
// built for from every other. Go's own assembler needs no more than that, if
// the systems it is not written for have the same in Go.
func TestNoCgoFiles(t *testing.T) {
	all := files(t)
	for _, path := range all {
		if base, ok := strings.CutSuffix(path, "_amd64.s"); ok {
			if !slices.Contains(all, base+"_other.go") {
				t.Errorf("%s has no %s_other.go for other processors", path, base)
			}
			continue
		}
		for _, ext := range []string{".c", ".cc", ".cpp", ".h", ".s", ".S", ".syso"} {
			if strings.HasSuffix(path, ext) {
				t.Errorf("%s needs more than the Go compiler", path)
			}
		}
	}
}
