package sqlite

import (
	"maps"
	"slices"
	"testing"

	"beatwright"
)

// Kinds are all kinds of things that are kept.
var Kinds = func() []beatwright.Kind { return slices.Sorted(maps.Keys(columns)) }()

// Pragma gives a setting of the connection that writes.
func (s *Store) Pragma(t testing.TB, name string) string {
	t.Helper()
	var v string
	if err := s.write.QueryRow(`PRAGMA ` + name).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

// SetPragma spoils or narrows a setting of the one connection that writes.
func (s *Store) SetPragma(t testing.TB, to string) {
	t.Helper()
	if _, err := s.write.Exec(`PRAGMA ` + to); err != nil {
		t.Fatal(err)
	}
}

// Rev gives how often a thing was written, removed or not; 0 for never.
func (s *Store) Rev(t testing.TB, kind beatwright.Kind, id beatwright.ID) (rev int) {
	t.Helper()
	err := s.write.QueryRow(`SELECT coalesce(max(rev), 0) FROM `+string(kind)+` WHERE id = ?`, string(id)).Scan(&rev)
	if err != nil {
		t.Fatal(err)
	}
	return rev
}
