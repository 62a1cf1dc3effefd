// Command termpicture draws the terminal pictures of the documents from real
// runs: it runs the program in an empty folder, as a person would at a
// terminal, and sets what it prints as SVG, ink on paper, light and dark.
//
//	go run ./internal/termpicture        writes docs/measure.svg
//
// Its test fails when a picture is not what the program prints today.
package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"beatwright/internal/cli"
)

// runs are the commands in the picture, in order; the watch is invented.
var runs = []string{
	"synth --beats-per-hour 18000 --rate 37.5 --beat-error 1.2 --lift 48 --amplitude 205 --jitter 0.05 --noise 26 --seed 1 watch.wav",
	"measure --lift 48 watch.wav",
}

const picture = "docs/measure.svg"

func main() {
	if err := write(picture); err != nil {
		fmt.Fprintln(os.Stderr, "termpicture:", err)
		os.Exit(1)
	}
}

func write(path string) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	text, err := typescript()
	if err != nil {
		return err
	}
	return os.WriteFile(path, []byte(draw(text)), 0o644)
}

// typescript runs the commands in a folder of their own.
func typescript() (string, error) {
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
