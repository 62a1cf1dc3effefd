// Package shared finds the sounds that tests read but the project does not
// hold: real recordings and simulated hearings of another hand, each folder
// with its table of truths. Their place is BEATWRIGHT_SHARED, or the folder
// shared beside the checkout.
package shared

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"
)

// Dir gives the folder name within the shared one. Set and missing is a
// failure; unset and missing skips the test and says so.
func Dir(t testing.TB, name string) string {
	t.Helper()
	root, set := os.LookupEnv("BEATWRIGHT_SHARED")
	if !set {
		root = beside(t)
	}
	dir := filepath.Join(root, name)
	if _, err := os.Stat(dir); err != nil {
		if set {
			t.Fatalf("BEATWRIGHT_SHARED is set, but %s cannot be read: %v", dir, err)
		}
		t.Skipf("skipped: no shared sounds at %s (set BEATWRIGHT_SHARED)", dir)
	}
	return dir
}

// beside is the shared folder next to the module's root.
func beside(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for range 6 {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return filepath.Join(dir, "..", "shared")
		}
		dir = filepath.Dir(dir)
	}
	return "shared"
}

// Truth reads the folder's TRUTH.csv: a map by column name for each row.
func Truth(t testing.TB, dir string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(dir, "TRUTH.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}
