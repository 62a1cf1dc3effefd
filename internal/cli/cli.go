// Package cli is the command line: it reads arguments, joins files with the
// engine, and prints results for a person or as JSON. It measures nothing
// itself, and holds no words about watches: those are in internal/say.
//
// Results go to standard output, everything else to standard error; an error
// is one line: what, where, what to do. The exit status of every command is
// in status.go.
//
// The program is a struct with Run, so that tests start it as main does.
package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"beatwright/internal/reckoning"
	"beatwright/measure"

	"github.com/alecthomas/kong"
)

// Program is the whole program with what it needs from outside.
type Program struct {
	// Hear is the engine.
	Hear HearFunc
	// Now is the clock that progress is timed by.
	Now func() time.Time
	// IsTerminal tells whether what is written to w is read by a person as
	// it comes.
	IsTerminal func(w io.Writer) bool
	// Clicked tells whether the program was started by a double click, with
	// no one at a command line.
	Clicked func(stdin io.Reader, stdout io.Writer) bool
}

// New returns the program as main runs it.
func New() *Program {
	return &Program{Hear: measure.Sound, Now: time.Now, IsTerminal: isTerminal, Clicked: clicked}
}

// session is one run of the program: where its words go.
type session struct {
	*Program
	ctx            context.Context
	stdin          io.Reader
	stdout, stderr io.Writer
	// clicked is set when a double click started the bench.
	clicked bool
}

// commands is the command line as kong reads it.
type commands struct {
	Bench   benchCmd   `cmd:"" help:"Open the workshop: the page for jobs, hearings and the record."`
	Demo    demoCmd    `cmd:"" help:"Open an invented workshop, to try things out; its folder is removed at the end."`
	Measure measureCmd `cmd:"" help:"Say rate, beat error and amplitude of a watch from its sound."`
	Explain explainCmd `cmd:"" help:"Say what a table of readings by position means together."`
	Reckon  reckonCmd  `cmd:"" help:"Calculators for the bench: beat, hand check, poise and more."`
	Synth   synthCmd   `cmd:"" help:"Make the sound of a simulated watch, with its truth beside it."`
	Version versionCmd `cmd:"" help:"Say which beatwright this is."`
}

// command is what every command does once its arguments are read.
type command interface{ run(*session) error }

const description = "Hears a mechanical watch and says what it heard and how sure it is."

// Run runs the program with args (without its name) and gives its exit
// status. It closes none of the streams.
func (p *Program) Run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	s := &session{Program: p, ctx: ctx, stdin: stdin, stdout: stdout, stderr: stderr}
	cmd, err := s.parse(args)
	if err == nil && cmd != nil {
		err = cmd.run(s)
	}
	if msg := message(err); msg != "" {
		s.complain(msg)
	}
	return status(err)
}

// parse reads the arguments; a nil command without an error means that help
// was asked for and given.
func (s *session) parse(args []string) (command, error) {
	var cmds commands
	helped := false
	var help bytes.Buffer
	parser, err := kong.New(
		&cmds,
		kong.Name("beatwright"),
		kong.Description(description),
		kong.Writers(&help, s.stderr),
		kong.Vars{"kinds": kindNames(), "calculators": strings.Join(reckoning.Names(), ", ")},
		kong.WithHyphenPrefixedParameters(true),
		kong.Exit(func(int) { helped = true }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 80}),
	)
	if err != nil {
		return nil, fmt.Errorf("read the command line: %w", err)
	}
	if len(args) == 0 {
		args = []string{"--help"}
		if s.Clicked != nil && s.Clicked(s.stdin, s.stdout) {
			args, s.clicked = []string{"bench"}, true
		}
	}
	args, inputs := splitReckon(args)
	ctx, err := parser.Parse(args)
	if helped {
		_, err := s.stdout.Write(help.Bytes())
		return nil, err
	}
	if err != nil {
		return nil, usageError{err: err, hint: "see " + helpFor(err)}
	}
	cmds.Reckon.Args = inputs
	cmd, ok := ctx.Selected().Target.Addr().Interface().(command)
	if !ok {
		return nil, fmt.Errorf("command %s cannot be run", ctx.Command())
	}
	return cmd, nil
}

// helpFor names the help that fits where the arguments went wrong.
func helpFor(err error) string {
	var parse *kong.ParseError
	if errors.As(err, &parse) && parse.Context.Selected() != nil {
		return "beatwright " + parse.Context.Selected().Name + " --help"
	}
	return "beatwright --help"
}

// complain writes one line to standard error.
func (s *session) complain(msg string) {
	// Nothing can be done when even the complaint cannot be written.
	_, _ = fmt.Fprintln(s.stderr, "beatwright: "+oneLine(msg))
}

// oneLine keeps an error on one line, and control characters, which may come
// from a file's name, away from the terminal.
func oneLine(s string) string {
	s = strings.ReplaceAll(strings.TrimSpace(s), "\n", "; ")
	return printable(s)
}

// printable replaces control characters by U+FFFD.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 || r >= 0x202a && r <= 0x202e {
			return '\ufffd'
		}
		return r
	}, s)
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
