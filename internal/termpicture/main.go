// Command termpicture draws the pictures of the documents from real runs: it
// runs the program in an empty folder, as a person would at a terminal, and
// sets what it prints as SVG, ink on paper, light and dark; and it keeps the
// drawing that measure --plot makes.
//
//	go run ./internal/termpicture        writes docs/measure.svg and docs/profile.svg
//
// Its test fails when a picture is not what the program prints today.
package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"beatwright/internal/cli"
)

// runs are the commands in the picture, in order; the watch is invented.
var runs = []string{
	"synth --beats-per-hour 18000 --rate 37.5 --beat-error 1.2 --lift 48 --amplitude 205 --jitter 0.05 --noise 26 --seed 1 watch.wav",
	"measure --lift 48 watch.wav",
}

// plotted are the commands that make the drawing; the watch is invented.
var plotted = []string{
	"synth --kind tired --seed 5 --duration 30s tired.wav",
	"measure --plot profile.svg tired.wav",
}

// pictures are the files and what makes them.
var pictures = map[string]func() (string, error){
	"docs/measure.svg": func() (string, error) {
		text, err := typescript(runs, "")
		return draw(text), err
	},
	"docs/profile.svg": func() (string, error) { return typescript(plotted, "profile.svg") },
}

func main() {
	for path, picture := range pictures {
		if err := write(path, picture); err != nil {
			fmt.Fprintln(os.Stderr, "termpicture:", err)
			os.Exit(1)
		}
	}
}

func write(path string, picture func() (string, error)) error {
	text, err := picture()
	if err != nil {
		return err
	}
	return os.WriteFile(path, []byte(text), 0o644)
}

// typescript runs commands in a folder of their own, and gives what they
// print, or the file they leave if one is named.
func typescript(runs []string, file string) (string, error) {
	dir, err := os.MkdirTemp("", "termpicture")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	before, err := os.Getwd()
	if err != nil {
		return "", err
	}
	if err := os.Chdir(dir); err != nil {
		return "", err
	}
	defer os.Chdir(before)
	var out strings.Builder
	for _, line := range runs {
		text, err := run(line)
		if err != nil {
			return "", err
		}
		out.WriteString(prompt(line) + text)
	}
	if file != "" {
		text, err := os.ReadFile(file)
		return string(text), err
	}
	return out.String(), nil
}

// run gives what a command prints on a terminal.
func run(line string) (string, error) {
	var stdout, stderr bytes.Buffer
	program := cli.New()
	program.IsTerminal = func(w io.Writer) bool { return w == &stdout }
	status := program.Run(context.Background(), strings.Fields(line), strings.NewReader(""), &stdout, &stderr)
	if status != 0 || stderr.Len() > 0 {
		return "", fmt.Errorf("%s: exit status %d, %s", line, status, stderr.String())
	}
	return stdout.String(), nil
}
