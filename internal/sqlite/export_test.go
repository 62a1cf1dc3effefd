package sqlite

import "testing"

// Pragma gives a setting of the connection that writes.
func (s *Store) Pragma(t *testing.T, name string) string {
	t.Helper()
	var v string
	if err := s.write.QueryRow(`PRAGMA ` + name).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}
