package files

import (
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"sync"
	"time"
)

// Mark is something that happened in growing sound, at a sample (a frame of
// all channels, counted from 0): a gap, a position, a word of the caller's.
type Mark struct {
	Sample int64  `json:"sample"`
	Kind   string `json:"kind"`
	Text   string `json:"text,omitempty"`
}

// line is one line of a sidecar: a mark, or one of the others.
type line struct {
	*Mark
	// Begun is the first line.
	Begun *time.Time `json:"begun,omitempty"`
	// Durable says that this many samples, in this many bytes of the sound,
	// were synced before the line was.
	Durable *durable `json:"durable,omitempty"`
	// Finished is the name the sound is about to get.
	Finished Name `json:"finished,omitempty"`
	// Forgotten stands before sound and sidecar are removed.
	Forgotten bool `json:"forgotten,omitempty"`
}

type durable struct {
	Samples int64 `json:"samples"`
	Bytes   int64 `json:"bytes"`
}

// Growing is sound that is kept while it is heard, in incoming/ID.flac, with
// its sidecar of marks. One goroutine writes; any may ask Durable.
//
// After an error it takes nothing more, because a disk that failed to sync
// may have dropped what it was to sync. What was acknowledged stands; Close
// it, and Salvage gives it.
type Growing struct {
	f     *Folder
	id    string
	sound File
	marks File
	size  int64 // bytes of the sound, the longest it was
	at    int64 // where the next write goes

	mu      sync.Mutex
	durable int64
	err     error
}

// Incoming begins sound under an ID of the caller's: 1 to 64 lower-case
// letters, digits, hyphens and underscores, never used before in this folder
// (else fs.ErrExist).
func (f *Folder) Incoming(id string) (*Growing, error) {
	if err := f.mayWrite(); err != nil {
		return nil, err
	}
	if !goodID(id) {
		return nil, fmt.Errorf("keep sound: %.80q: %w", id, ErrName)
	}
	if !f.begin(id) {
		return nil, sameID(id)
	}
	g := &Growing{f: f, id: id}
	if err := g.create(); err != nil {
		f.end(id)
		if errors.Is(err, fs.ErrExist) {
			return nil, sameID(id)
		}
		return nil, storage("begin sound "+id, err)
	}
	return g, nil
}

func sameID(id string) error {
	return fmt.Errorf("keep sound %s: there is such a one already: %w", id, fs.ErrExist)
}

// create makes both files and their names durable, so that the first Sync
// needs no more than its own two.
func (g *Growing) create() (err error) {
	f := g.f
	if g.marks, err = f.disk.Create(f.path(incomingDir, g.id+marksEnd)); err != nil {
		return err
	}
	g.sound, err = f.disk.Create(f.path(incomingDir, g.id+soundEnd))
	if err == nil {
		now := f.now().UTC()
		err = g.line(line{Begun: &now})
	}
	if err == nil {
		err = g.marks.Sync()
	}
	if err == nil {
		err = f.disk.SyncDir(f.path(incomingDir))
	}
	if err != nil {
		g.abandon()
	}
	return err
}

// abandon takes away what create made.
func (g *Growing) abandon() {
	_ = g.closeFiles()
	if g.sound != nil {
		_ = g.f.disk.Remove(g.f.path(incomingDir, g.id+soundEnd))
	}
	_ = g.f.disk.Remove(g.f.path(incomingDir, g.id+marksEnd))
}

// ID is the ID it was begun with.
func (g *Growing) ID() string { return g.id }

// Durable is how many samples the last Sync acknowledged.
func (g *Growing) Durable() int64 {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.durable
}

// Err is the error after which nothing more is taken, nil if all is well.
func (g *Growing) Err() error {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.err
}

// fail keeps the first error, with its words.
func (g *Growing) fail(doing string, err error) error {
	if err == nil {
		return nil
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.err == nil {
		g.err = storage(doing+" of sound "+g.id, err)
	}
	return g.err
}

// Write adds encoded sound.
func (g *Growing) Write(b []byte) (int, error) {
	if err := g.Err(); err != nil {
		return 0, err
	}
	n, err := g.sound.Write(b)
	g.at += int64(n)
	g.size = max(g.size, g.at)
	return n, g.fail("write", err)
}

// Seek moves where the next write goes, so that an encoder can complete its
// header at the end.
func (g *Growing) Seek(offset int64, whence int) (int64, error) {
	if err := g.Err(); err != nil {
		return 0, err
	}
	at, err := g.sound.Seek(offset, whence)
	if err == nil {
		g.at = at
	}
	return at, g.fail("seek", err)
}

// Mark notes something; it is durable after the next Sync.
func (g *Growing) Mark(m Mark) error {
	if err := g.Err(); err != nil {
		return err
	}
	if m.Kind == "" || m.Sample < 0 {
		return fmt.Errorf("mark sound %s: a mark needs a kind and a sample", g.id)
	}
	return g.fail("mark", g.line(line{Mark: &m}))
}

// line writes one line to the sidecar.
func (g *Growing) line(l line) error {
	b, err := json.Marshal(l)
	if err != nil {
		return err
	}
	_, err = g.marks.Write(append(b, '\n'))
	return err
}

// Sync makes durable what was written and marked, and that the bytes written
// hold this many samples (for FLAC: those in whole blocks, after the encoder
// was flushed). When it returns without error they survive any crash.
func (g *Growing) Sync(samples int64) error {
	if err := g.Err(); err != nil {
		return err
	}
	// The sound first: the line must not say more than is there.
	err := g.sound.Sync()
	if err == nil {
		err = g.line(line{Durable: &durable{samples, g.size}})
	}
	if err == nil {
		err = g.marks.Sync()
	}
	if err != nil {
		return g.fail("sync", err)
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	g.durable = samples
	return nil
}

// Finish gives the sound, complete with this many samples, its name by
// content. The sidecar stays, so that nothing is lost between this and the
// record's taking note of the name: call Forget after that. It reads the
// sound once more, since an encoder may have gone back to its header.
func (g *Growing) Finish(samples int64) (Name, error) {
	if err := g.Sync(samples); err != nil {
		return "", err
	}
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(g.sound, 0, g.size)); err != nil {
		return "", g.fail("read", err)
	}
	n := newName(sum.Sum(nil), FLAC)
	if err := g.moveTo(n); err != nil {
		return "", g.fail("finish", err)
	}
	return n, g.Close()
}

func (g *Growing) moveTo(n Name) error {
	f := g.f
	if err := f.makePlace(n.rel()); err != nil {
		return err
	}
	err := g.line(line{Finished: n})
	if err == nil {
		err = g.marks.Sync()
	}
	if err == nil {
		err = g.sound.Close() // Windows renames no open file
	}
	if err != nil {
		return err
	}
	to := f.path(n.rel())
	if err := f.disk.Rename(f.path(incomingDir, g.id+soundEnd), to); err != nil {
		return err
	}
	if err := f.disk.SyncDir(f.path(soundDir, string(n)[:2])); err != nil {
		return err
	}
	return f.disk.SyncDir(f.path(incomingDir))
}

// Close lets go of the files without finishing; Salvage then lists them. It
// is harmless after Finish.
func (g *Growing) Close() error {
	g.fail("write", errClosed)
	defer g.f.end(g.id)
	return storage("close sound "+g.id, g.closeFiles())
}

// errClosed is met by writing after Close or Finish.
var errClosed = fmt.Errorf("closed: %w", fs.ErrClosed)

func (g *Growing) closeFiles() error {
	var errs []error
	for _, c := range []File{g.sound, g.marks} {
		if c == nil {
			continue
		}
		if err := c.Close(); err != nil && !errors.Is(err, fs.ErrClosed) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}

// goodID keeps paths and other endings out of file names.
func goodID(id string) bool {
	return id != "" && len(id) <= 64 && strings.Trim(id, "abcdefghijklmnopqrstuvwxyz0123456789_-") == ""
}
