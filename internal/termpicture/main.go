// Command termpicture draws the pictures of the documents from real runs: it
// runs the program in an empty folder, as a person would at a terminal, and
// sets what it prints as SVG, ink on paper, light and dark; and it keeps the
// drawing that measure --plot makes.
//
//	go run ./internal/termpicture        writes docs/measure.svg, profile.svg, tired.svg
//
// tired.svg sets the program beside a plain detector (plain.go) on a watch whose
// unlocking lies in the noise.
//
// Its test fails when a picture is not what the program prints today.
package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strconv"
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

// tired are a simulated watch whose unlocking is lost, and its measuring.
var tired = []string{
	"synth --kind tired --seed 11 --noise 22 --truth truth.json tired.wav",
	"plain --lift 56.2 tired.wav",
	"measure --lift 56.2 tired.wav",
}

// pictures are the files and what makes them.
var pictures = map[string]func() (string, error){
	"docs/measure.svg": func() (string, error) {
		text, err := typescript(runs, "")
		return draw(text), err
	},
	"docs/tired.svg": func() (string, error) {
		text, err := typescript(tired, "")
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
	if strings.HasPrefix(line, "plain ") {
		return plain(strings.Fields(line))
	}
	var stdout, stderr bytes.Buffer
	program := cli.New()
	program.IsTerminal = func(w io.Writer) bool { return w == &stdout }
	status := program.Run(context.Background(), strings.Fields(line), strings.NewReader(""), &stdout, &stderr)
	if status != 0 || stderr.Len() > 0 {
		return "", fmt.Errorf("%s: exit status %d, %s", line, status, stderr.String())
	}
	return stdout.String(), nil
}

// plain stands for the plain detector, "plain --lift DEG FILE", and says beside
// it what the truth file of the same folder has.
func plain(args []string) (string, error) {
	lift, err := strconv.ParseFloat(args[2], 64)
	if err != nil {
		return "", err
	}
	got, err := plainSwing(args[3], lift)
	if err != nil {
		return "", err
	}
	text, err := os.ReadFile("truth.json")
	if err != nil {
		return "", err
	}
	var truth struct {
		Process struct {
			Amplitude float64 `json:"amplitude_deg"`
		} `json:"process"`
	}
	if err := json.Unmarshal(text, &truth); err != nil {
		return "", err
	}
	return fmt.Sprintf("swinging %.0f°            (a plain onset detector; the watch was made to swing %.0f°)\n", got, truth.Process.Amplitude), nil
}
