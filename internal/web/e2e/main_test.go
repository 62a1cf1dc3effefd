package e2e

import (
	"context"
	"flag"
	"os"
	"testing"

	"beatwright/internal/cli"
)

// asProgram in the environment makes the test's own binary be the program, so
// that a real process can be killed without building another.
const asProgram = "BEATWRIGHT_E2E_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(cli.New().Run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	// Tests that hear a round wait for its sound most of the time: more of them
	// than there are cores go side by side, but not so many that a browser lacks
	// the time to take its sound.
	flag.Parse()
	if err := flag.Set("test.parallel", "3"); err != nil {
		panic(err)
	}
	status := m.Run()
	shared.close()
	os.Exit(status)
}
