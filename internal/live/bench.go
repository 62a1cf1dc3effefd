// Package live is the one place where sound and record meet: a recording that
// is dropped on a job is measured, kept as FLAC and written into the record; a
// kept sound is measured again with what is known by then.
//
// The engine knows no jobs and the record knows no sound; this package knows
// both, and no page.
package live

import (
	"context"
	"sync"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/measure"
	"beatwright/sound"
)

// Bench is an open workshop: its record, its files, and the engine.
type Bench struct {
	beatwright.Record
	Folder *files.Folder
	// Now is the clock; Hear the engine.
	Now  func() time.Time
	Hear func(ctx context.Context, name string, r sound.Reader, o measure.Options, emit func(measure.Result) error) error
	// By names this program in what it reckons.
	By string

	results  results
	working  slots
	sittings sittings
}

// NewBench joins a record and a folder.
func NewBench(r beatwright.Record, f *files.Folder, by string) *Bench {
	return &Bench{Record: r, Folder: f, Now: time.Now, Hear: measure.Sound, By: by, working: make(slots, 2)}
}

// slots hold how many sounds are measured at a time: more would only make each
// slower.
type slots chan struct{}

func (s slots) take(ctx context.Context) error {
	select {
	case s <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s slots) give() { <-s }

// results are what kept sounds said when last measured, so that a page's
// pictures need not be reckoned at every look. The few newest are kept.
type results struct {
	mu    sync.Mutex
	order []beatwright.ID
	of    map[beatwright.ID]measure.Result
}

const keptResults = 32

func (r *results) put(reading beatwright.ID, res measure.Result) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.of == nil {
		r.of = map[beatwright.ID]measure.Result{}
	}
	if _, ok := r.of[reading]; !ok {
		r.order = append(r.order, reading)
	}
	r.of[reading] = res
	for len(r.order) > keptResults {
		delete(r.of, r.order[0])
		r.order = r.order[1:]
	}
}

func (r *results) get(reading beatwright.ID) (measure.Result, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	res, ok := r.of[reading]
	return res, ok
}

// newEntry gives a thing its ID.
func (b *Bench) newEntry() beatwright.Entry {
	return beatwright.Entry{ID: beatwright.NewID(b.Now())}
}
