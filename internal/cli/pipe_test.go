//go:build unix

package cli_test

import (
	"os"
	"strings"
	"syscall"
	"testing"
)

// TestBeatsFileToAPipe: what is no ordinary file is written to, not replaced
// (renaming over a device would destroy it).
func TestBeatsFileToAPipe(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	if err := syscall.Mkfifo("pipe", 0o600); err != nil {
		t.Skip("no pipes here:", err)
	}
	got := make(chan string, 1)
	go func() {
		text, err := os.ReadFile("pipe")
		if err != nil {
			text = []byte(err.Error())
		}
		got <- string(text)
	}()
	r := run(t, engine{"a.wav": {heard()}}, "", "measure", "--beats", "pipe", "a.wav")
	info, err := os.Stat("pipe")
	if err != nil || info.Mode().IsRegular() {
		t.Fatalf("the pipe was replaced by a file (%v); exit status %d, complained %q", err, r.status, r.err)
	}
	if text := <-got; r.status != 0 || !strings.HasPrefix(text, "file,at_s,side") {
		t.Errorf("exit status %d, complained %q, wrote %q", r.status, r.err, text)
	}
	only(t, "a.wav", "pipe")
}
