package live

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/sound"
)

// leastSalvaged is what is worth keeping of a sound that was cut off.
const leastSalvaged = 2 * time.Second

// Salvage puts into the record what was being heard when the program was
// stopped. It gives how many hearings that were.
func (b *Bench) Salvage(ctx context.Context) (int, error) {
	all, err := b.Folder.Salvage()
	if err != nil {
		return 0, err
	}
	n := 0
	for _, u := range all {
		of, samples, ok := whatWasKept(u)
		if !ok {
			continue // another's; it stays where it is
		}
		done, err := b.salvage(ctx, u, of, samples)
		if err != nil {
			return n, fmt.Errorf("take up sound that was cut off: %w", err)
		}
		if done {
			n++
		}
	}
	return n, nil
}

// whatWasKept gives what a sound is of, and how much there was of it when that was
// said.
func whatWasKept(u files.Unfinished) (of keptOf, samples int64, ok bool) {
	for _, m := range u.Marks {
		var said keptOf
		if m.Kind == sittingMark && json.Unmarshal([]byte(m.Text), &said) == nil && said.Job != "" {
			of, samples, ok = said, m.Sample, true // the newest counts
		}
	}
	return of, samples, ok
}

// salvage writes a hearing as it was to be written: whole where the position was
// taken as heard, all its sound is there, and it was not heard again since, as it is
// when it could not be written; else as broken off.
func (b *Bench) salvage(ctx context.Context, u files.Unfinished, of keptOf, samples int64) (bool, error) {
	entry := beatwright.Entry{ID: beatwright.ID(u.ID)}
	if _, err := b.Get(ctx, beatwright.Key{Kind: beatwright.KindHearing, ID: entry.ID}); err == nil {
		return false, b.Folder.Forget(u.ID) // it was written, only not forgotten
	}
	name, whole := u.Name, of.Taken
	if name == "" {
		var frames int64
		var err error
		if name, frames, err = b.putSalvaged(ctx, u); err != nil {
			return false, err
		}
		if name == "" {
			return false, b.Folder.Forget(u.ID)
		}
		whole = whole && frames >= samples
	}
	again, err := b.heardAgain(ctx, of)
	if err != nil {
		return false, err
	}
	note := cutShort
	if whole && !again {
		note = of.Note
	}
	err = b.writeHeard(ctx, name, entry, of, note, of.Who)
	if beatwright.CodeOf(err) == beatwright.Missing {
		return false, nil // the job is gone; the sound stays
	}
	return err == nil, err
}

// heardAgain tells whether the position is heard whole in the record already.
func (b *Bench) heardAgain(ctx context.Context, of keptOf) (bool, error) {
	p, err := b.Job(ctx, string(of.Job))
	if beatwright.CodeOf(err) == beatwright.Missing {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	return of.Position != "" && slices.ContainsFunc(p.Hearings, func(h *beatwright.Hearing) bool {
		return h.Round == of.Round && h.Position == of.Position && h.Repeat == of.Repeat && !BrokenOff(h)
	}), nil
}

// putSalvaged makes a whole file of a sound that was cut off, as far as it can
// be read, and says how many samples that are; no name where it is too little.
func (b *Bench) putSalvaged(ctx context.Context, u files.Unfinished) (files.Name, int64, error) {
	f, err := os.Open(u.Path)
	if errors.Is(err, fs.ErrNotExist) {
		return "", 0, nil
	}
	if err != nil {
		return "", 0, err
	}
	defer f.Close()
	in, err := sound.NewReader(ctx, u.ID, f)
	if err != nil {
		return "", 0, nil // not even a header came through
	}
	defer in.Close()
	spool, err := os.CreateTemp("", "beatwright-*.flac")
	if err != nil {
		return "", 0, disk(err)
	}
	defer os.Remove(spool.Name())
	defer spool.Close()
	t, err := newTee(in, spool)
	if err != nil {
		return "", 0, err
	}
	if err := t.finish(); err != nil {
		return "", 0, err
	}
	if float64(t.frames) < leastSalvaged.Seconds()*float64(in.Format().Rate) {
		return "", 0, nil
	}
	if _, err := spool.Seek(0, io.SeekStart); err != nil {
		return "", 0, disk(err)
	}
	name, err := b.Folder.Put(files.FLAC, spool, MaxSound)
	return name, t.frames, err
}
