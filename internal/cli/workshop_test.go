package cli_test

import (
	"context"
	"os"
	"strings"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"

	"github.com/rogpeppe/go-internal/testscript"
)

// workshop makes a workshop folder with one job of an invented watch, in which
// sounds were heard: workshop DIR CH=a.wav 6H=b.wav …
func workshop(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: workshop DIR POSITION=SOUND …")
	}
	ctx, dir := context.Background(), ts.MkAbs(args[0])
	folder, err := files.Open(dir, files.Options{})
	ts.Check(err)
	defer folder.Close()
	now := time.Date(2026, 11, 16, 9, 0, 0, 0, time.UTC)
	record, err := sqlite.Open(ctx, dir, sqlite.Options{Now: func() time.Time { return now }})
	ts.Check(err)
	defer record.Close()
	bench := live.NewBench(record, folder, "beatwright test")
	bench.Now = func() time.Time { now = now.Add(time.Minute); return now }
	watch := &beatwright.Watch{Entry: beatwright.Entry{ID: beatwright.NewID(now)}, Says: "Quellmar Daycall", What: "alarm"}
	job := &beatwright.Job{Entry: beatwright.Entry{ID: beatwright.NewID(now)}, Watch: watch.ID, State: beatwright.Received, Opened: now}
	_, err = bench.Apply(ctx, beatwright.Change{What: "opened", Job: job.ID, Put: []beatwright.Thing{watch, job}})
	ts.Check(err)
	hours := 0.0
	for _, a := range args[1:] {
		lies, name, _ := strings.Cut(a, "=")
		f, err := os.Open(ts.MkAbs(name))
		ts.Check(err)
		_, _, err = bench.Keep(ctx, job.Number, live.Recording{Name: name, Sound: f, Position: lies, State: beatwright.State{Hours: &hours}})
		ts.Check(err)
		ts.Check(f.Close())
	}
}
