package hygiene_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const module = "beatwright"

// root is the folder of the module, as seen from this package.
const root = "../.."

// source is one Go file, its comments and imports read.
type source struct {
	path    string // from the root, with slashes
	pkg     string // its folder, "" for the root
	test    bool
	syntax  *ast.File
	imports []string
	text    []byte
}

// sources reads all Go files of the project.
func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	for _, path := range files(t) {
		if !strings.HasSuffix(path, ".go") {
			continue
		}
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, text, parser.ParseComments|parser.ImportsOnly)
		if err != nil {
			t.Fatal(err)
		}
		s := source{path: path, pkg: folder(path), test: strings.HasSuffix(path, "_test.go"), syntax: f, text: text}
		for _, i := range f.Imports {
			s.imports = append(s.imports, strings.Trim(i.Path.Value, `"`))
		}
		all = append(all, s)
	}
	if len(all) == 0 {
		t.Fatal("no Go files found")
	}
	return all
}

// files lists all files that are the project's own, from the root.
func files(t *testing.T) []string {
	t.Helper()
	var all []string
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && (name == ".git" || name == "vendor" || name == "node_modules") {
			return filepath.SkipDir
		}
		if d.IsDir() && name == "testdata" && !strings.Contains(filepath.ToSlash(path), "/testdata/script") {
			return filepath.SkipDir // may hold anything, broken files too
		}
		if d.Type().IsRegular() {
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return err
			}
			all = append(all, filepath.ToSlash(rel))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func folder(path string) string {
	dir, _, found := cutLast(path, "/")
	if !found {
		return ""
	}
	return dir
}

func cutLast(s, sep string) (before, after string, found bool) {
	i := strings.LastIndex(s, sep)
	if i < 0 {
		return "", s, false
	}
	return s[:i], s[i+len(sep):], true
}
