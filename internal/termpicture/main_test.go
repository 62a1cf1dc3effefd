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

// TestPicturesAreToday: the pictures in the documents are what the program
// makes.
func TestPicturesAreToday(t *testing.T) {
	for name, picture := range pictures {
		path := filepath.Join("..", "..", name)
		if *update {
			if err := write(path, picture); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		got, err := picture()
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("%s is not what the program makes today; go test ./internal/termpicture -update draws it anew", name)
		}
	}
}

func TestDraw(t *testing.T) {
	got := draw("$ beatwright x <y>\n" + bold + "Gaining" + normal + "  ± 4\n ▁█\n")
	for _, want := range []string{
		`<text class="typed" x="20.0" y="35" textLength="151.2">$ beatwright x &lt;y&gt;</text>`,
		`<text class="sure" x="20.0" y="55" textLength="58.8">Gaining</text>`,
		`<text x="95.6" y="55" textLength="25.2">± 4</text>`,
		// An eighth of a line of 20 px, and a whole one, on the foot at 20 + 3·20.
		`<path class="block" d="M28.4 80h8.4v-2.5h-8.4zM36.8 80h8.4v-20.0h-8.4z"/>`,
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
