package main

import (
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the pictures anew")

// TestPictureIsToday: the picture in the documents is what the program prints.
func TestPictureIsToday(t *testing.T) {
	path := filepath.Join("..", "..", picture)
	if *update {
		if err := write(path); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text, err := typescript()
	if err != nil {
		t.Fatal(err)
	}
	if got := draw(text); got != string(want) {
		t.Errorf("%s is not what the program prints today; go test ./internal/termpicture -update draws it anew:\n%s", picture, text)
	}
}

func TestDraw(t *testing.T) {
	got := draw("$ beatwright x <y>\n" + bold + "Gaining" + normal + "  ± 4\n")
	for _, want := range []string{
		`<text class="typed" x="20.0" y="35" textLength="151.2">$ beatwright x &lt;y&gt;</text>`,
		`<text class="sure" x="20.0" y="55" textLength="58.8">Gaining</text>`,
		`<text x="95.6" y="55" textLength="25.2">± 4</text>`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("draw gives\n%s\nwant %s in it", got, want)
		}
	}
	for d := xml.NewDecoder(strings.NewReader(got)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("the picture is no XML: %v", err)
		}
	}
}

func TestPromptBreaksLongCommands(t *testing.T) {
	got := prompt(strings.Repeat("--flag 12345 ", 10))
	for line := range strings.Lines(got) {
		if len(line) > columns+1 {
			t.Errorf("line of %d characters: %q", len(line), line)
		}
	}
	if !strings.HasPrefix(got, "$ beatwright --flag 12345 ") || !strings.Contains(got, " \\\n    --flag 12345") {
		t.Errorf("prompt is %q", got)
	}
}
