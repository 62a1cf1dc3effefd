package cli_test

import (
	"encoding/json"
	"errors"
	"math"
	"os/exec"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// status runs the program and checks its exit status:
//
//	status 3 beatwright measure silence.wav
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N command [args...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	var exit *exec.ExitError
	switch err := ts.Exec(args[1], args[2:]...); {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// number checks a number in JSON that was printed:
//
//	number stdout rate_s_per_day.value 37.5 0.1
func number(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("usage: number FILE path.to.value WANT TOLERANCE")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile(args[0])), &v))
	for field := range strings.SplitSeq(args[1], ".") {
		m, ok := v.(map[string]any)
		if !ok {
			ts.Fatalf("there is no %s in it", args[1])
		}
		v = m[field]
	}
	got, ok := v.(float64)
	if !ok {
		ts.Fatalf("%s is %v, no number", args[1], v)
	}
	want, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	tolerance, err := strconv.ParseFloat(args[3], 64)
	ts.Check(err)
	if near := math.Abs(got-want) <= tolerance; near == neg {
		ts.Fatalf("%s is %v, want %v within %v (turned round: %v)", args[1], got, want, tolerance, neg)
	}
}
