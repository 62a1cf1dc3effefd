package e2e

import (
	"context"
	"net/http/httptest"
	"os"
	"testing"
	"time"

	"beatwright/internal/demo"
	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
	"beatwright/internal/web"
)

// workshop is one that answers on this computer.
type workshop struct {
	bench *live.Bench
	url   string
	// job is the number of the invented workshop's chief job, hearing and
	// owner and movement things in it.
	job, hearing, owner, movement string
}

// serve opens the folder and answers; end closes all.
func serve(dir string, clock *demo.Clock) (w *workshop, end func(), err error) {
	folder, err := files.Open(dir, files.Options{})
	if err != nil {
		return nil, nil, err
	}
	record, err := sqlite.Open(context.Background(), dir, sqlite.Options{Now: clock.Now})
	if err != nil {
		return nil, nil, err
	}
	bench := live.NewBench(record, folder, "beatwright test")
	bench.Now = clock.Now
	page, err := web.New(bench, web.Options{Version: "test", Now: clock.Now})
	if err != nil {
		return nil, nil, err
	}
	srv := httptest.NewServer(page)
	return &workshop{bench: bench, url: srv.URL}, func() {
		srv.Close()
		record.Close()
		folder.Close()
	}, nil
}

// emptyShop is a workshop of the test's own.
func emptyShop(t *testing.T) *workshop {
	t.Helper()
	chromium(t)
	w, end, err := serve(t.TempDir(), demo.NewClock(time.Now))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(end)
	return w
}

// inventedShop is the invented workshop that the tests share. They look at it
// and change nothing.
func inventedShop(t *testing.T) *workshop {
	t.Helper()
	chromium(t)
	shared.invented.Do(func() { shared.shop, shared.err = invent(time.Now, 8) })
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.shop
}

// invent fills a workshop, with the sounds of its first hearings made.
func invent(now func() time.Time, sounds int) (*workshop, error) {
	dir, err := os.MkdirTemp("", "beatwright-e2e-")
	if err != nil {
		return nil, err
	}
	shared.ends = append(shared.ends, func() { os.RemoveAll(dir) })
	ctx, clock := context.Background(), demo.NewClock(now)
	w, end, err := serve(dir, clock)
	if err != nil {
		return nil, err
	}
	shared.ends = append(shared.ends, end)
	hearings, err := demo.Fill(ctx, w.bench, clock)
	if err != nil {
		return nil, err
	}
	if err := demo.Sounds(ctx, w.bench, hearings[:min(sounds, len(hearings))]); err != nil {
		return nil, err
	}
	p, err := w.bench.Job(ctx, string(hearings[0].Job))
	if err != nil {
		return nil, err
	}
	w.job, w.hearing, w.owner, w.movement = p.Job.Number, string(p.Hearings[0].ID), string(p.Owner.ID), string(p.Movement.ID)
	return w, nil
}
