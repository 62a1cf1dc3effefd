package sqlite_test

import (
	"context"
	"testing"

	"beatwright"
)

// TestNewestFirst: by year, then by number as a number, whatever the order in
// which jobs were kept.
func TestNewestFirst(t *testing.T) {
	s := open(t, t.TempDir())
	for i, number := range []string{"2026-1000", "2025-10000", "2026-999", "2026-10001", "2027-001"} {
		o, w, j := aJob(i)
		j.Number = number
		apply(t, s, "", "kept", o, w, j)
	}
	want := []string{"2027-001", "2026-10001", "2026-1000", "2026-999", "2025-10000"}
	for _, words := range []string{"", "quellmar"} {
		lines, err := s.Find(context.Background(), beatwright.Query{Words: words})
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) != len(want) {
			t.Fatalf("%q: %d lines, want %d", words, len(lines), len(want))
		}
		for i, l := range lines {
			if l.Number != want[i] {
				t.Errorf("%q: line %d is %s, want %s", words, i, l.Number, want[i])
			}
		}
	}
}
