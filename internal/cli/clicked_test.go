//go:build !windows

package cli

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// TestClicked: the bench opens by itself only where a desktop started the
// program. What the two streams are in each case is common practice of shells
// and desktops.
func TestClicked(t *testing.T) {
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	file, err := os.Create(filepath.Join(t.TempDir(), "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	defer write.Close()
	pair, err := syscall.Socketpair(syscall.AF_UNIX, syscall.SOCK_STREAM, 0)
	if err != nil {
		t.Fatal(err)
	}
	journal, other := os.NewFile(uintptr(pair[0]), "journal"), os.NewFile(uintptr(pair[1]), "other")
	defer journal.Close()
	defer other.Close()
	tests := []struct {
		name    string
		in, out *os.File
		desktop bool
		want    bool
	}{
		{"desktop, output to nothing", null, null, true, true},
		{"desktop, output to the journal", null, journal, true, true},
		{"no desktop", null, null, false, false},
		{"output to a file", null, file, true, false},
		{"output to a pipe", null, write, true, false},
		{"input from a pipe", read, null, true, false},
		{"input from a file", file, journal, true, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			env := func(name string) string {
				if tt.desktop && name == "WAYLAND_DISPLAY" {
					return "wayland-0"
				}
				return ""
			}
			if got := clickedFiles(tt.in, tt.out, env); got != tt.want {
				t.Errorf("clicked: %v, want %v", got, tt.want)
			}
		})
	}
}
