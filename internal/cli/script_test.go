package cli_test

import (
	"context"
	"os"
	"testing"

	"beatwright/internal/cli"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"beatwright": func() {
			os.Exit(cli.New().Run(context.Background(), os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
		},
	})
}

// TestScripts runs the whole program with its real engine, one behaviour a
// script; the sounds are made by its own synth.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"status":   status,
			"number":   number,
			"workshop": workshop,
		},
	})
}
