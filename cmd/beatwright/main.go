// Command beatwright is the bench companion of an independent watchmaker: it
// hears a mechanical watch and says what it heard and how sure it is.
//
// The commands, their output and their exit status are in package
// internal/cli; `beatwright --help` lists them.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"beatwright/internal/cli"
)

func main() { os.Exit(run()) }

func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	// After the first Ctrl-C (or the end of a session) the signal does its
	// usual work again, so that a second one ends the program at once.
	context.AfterFunc(ctx, stop)
	return cli.New().Run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
}
