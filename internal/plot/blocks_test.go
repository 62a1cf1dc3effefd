package plot

import (
	"strings"
	"testing"
	"unicode/utf8"
)

// TestBlocks: the words stand over the sounds, the loudest sound is a full
// column, and no line is too long.
func TestBlocks(t *testing.T) {
	f := inventedProfile(Known)
	lines := f.Blocks(76)
	text := strings.Join(lines, "\n")
	if len(lines) != 7 {
		t.Fatalf("%d lines, want 7:\n%s", len(lines), text)
	}
	for i, line := range lines {
		if n := utf8.RuneCountInString(line); n > 76 {
			t.Errorf("line %d has %d columns", i, n)
		}
	}
	// The axis runs over ±150°, so the drops at 28° and −22° fall in the
	// columns 76·(28 + 150)/300 = 45 and 76·(150 − 22)/300 = 32.
	if got := []rune(lines[0]); got[45] != '╷' || string(got[46:50]) != "drop" || got[32] != '╷' || string(got[23:32]) != "unlocking" {
		t.Errorf("words stand elsewhere:\n%s", text)
	}
	if got := []rune(lines[1]); got[45] == ' ' || got[44] != ' ' {
		t.Errorf("the drop does not rise in column 45:\n%s", text)
	}
	if got := []rune(lines[4]); got[32] != '╷' || string(got[28:32]) != "drop" {
		t.Errorf("the second beat is not mirrored:\n%s", text)
	}
	for _, want := range []string{"−120°", "rest", "60°", "█"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

func TestBlocksOfLess(t *testing.T) {
	if got := strings.Join(inventedProfile(AtMost).Blocks(76), "\n"); !strings.Contains(got, "unlocking: not heard╷") {
		t.Errorf("at most:\n%s", got)
	}
	if got := strings.Join(inventedProfile(NotTold).Blocks(76), "\n"); !strings.Contains(got, "−15\u00a0ms") || strings.Contains(got, "°") {
		t.Errorf("not told:\n%s", got)
	}
	if got := (Profile{Standing: NotTold}).Blocks(76); got != nil {
		t.Errorf("nothing is drawn as %q", got)
	}
}
