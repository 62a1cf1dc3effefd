package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"

	"beatwright/internal/demo"
	"beatwright/internal/live"
)

type demoCmd struct {
	Addr   string `default:"127.0.0.1:0" placeholder:"HOST:PORT" help:"Where the page answers (any free place without it)."`
	NoOpen bool   `help:"Do not open a browser."`
}

// run opens an invented workshop in a folder that is removed at the end.
func (c *demoCmd) run(s *session) (err error) {
	dir, err := os.MkdirTemp("", "beatwright-demo-")
	if err != nil {
		return fmt.Errorf("make a folder for the demo: %w", err)
	}
	defer func() {
		if gone := os.RemoveAll(dir); gone != nil && err == nil {
			err = fmt.Errorf("remove the demo's folder: %w; delete %s by hand", gone, dir)
		}
	}()
	fmt.Fprintf(s.stdout, "An invented workshop, to try things out in: all names, watches and sounds are made up.\nIts folder is removed at the end.\n")
	clock := demo.NewClock(s.Now)
	p := *s.Program
	p.Now = clock.Now
	inside := *s
	inside.Program = &p
	return inside.serve(dir, c.Addr, !c.NoOpen, func(ctx context.Context, b *live.Bench) (func(), error) {
		hearings, err := demo.Fill(ctx, b, clock)
		if err != nil {
			return nil, err
		}
		fmt.Fprintf(s.stdout, "The sound of %d hearings is being made; each appears when it has been heard.\n", len(hearings))
		return s.makeSounds(ctx, b, hearings), nil
	})
}

// makeSounds makes the sounds beside the page; what it returns ends that, and
// waits for it.
func (s *session) makeSounds(ctx context.Context, b *live.Bench, hearings []demo.Hearing) (end func()) {
	ctx, cancel := context.WithCancel(ctx)
	var wait sync.WaitGroup
	began := time.Now()
	wait.Go(func() {
		switch err := demo.Sounds(ctx, b, hearings); {
		case err == nil:
			fmt.Fprintf(s.stdout, "All %d hearings are there, after %.0f s.\n", len(hearings), time.Since(began).Seconds())
		case !errors.Is(err, context.Canceled):
			s.complain("make the demo's sounds: " + err.Error() + "; the rest of the workshop can be used")
		}
	})
	return func() {
		cancel()
		wait.Wait()
	}
}
