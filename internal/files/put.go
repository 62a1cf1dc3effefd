package files

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path/filepath"
)

// Endings of files in incoming.
const (
	partEnd  = ".part"
	soundEnd = ".flac"
	marksEnd = ".marks"
)

// part is a file on its way in, under a name of chance.
type part struct {
	f    *Folder
	name string
	File
}

func (f *Folder) newPart() (*part, error) {
	name := "put-" + rand.Text() + partEnd
	f.begin(name)
	file, err := f.disk.Create(f.path(incomingDir, name))
	if err != nil {
		f.end(name)
		return nil, storage("make a file in "+incomingDir, err)
	}
	return &part{f, name, file}, nil
}

// place syncs the part, moves it to path and makes that durable. With an
// error, given or met, the part is taken away instead.
func (p *part) place(path string, err error) error {
	defer p.f.end(p.name)
	if err == nil {
		err = p.Sync()
	}
	err = errors.Join(err, p.Close())
	if err == nil {
		err = p.f.disk.Rename(p.f.path(incomingDir, p.name), path)
	}
	if err != nil {
		// If this fails too, the sweep finds it.
		_ = p.f.disk.Remove(p.f.path(incomingDir, p.name))
		return storage("keep "+filepath.Base(path), err)
	}
	return storage("keep "+filepath.Base(path), p.f.disk.SyncDir(filepath.Dir(path)))
}

// Put keeps what r gives, up to limit bytes, and names it by its content;
// the same content twice is one file. When it returns without error the file
// is durable. With an error nothing is left, except that a whole file may
// stand unreferenced where only the last sync of its directory failed. An
// error of r comes back as it is.
func (f *Folder) Put(k Kind, r io.Reader, limit int64) (Name, error) {
	if err := f.mayWrite(); err != nil {
		return "", err
	}
	limit = min(limit, math.MaxInt64-1)
	if _, ok := places[k]; !ok {
		return "", fmt.Errorf("keep a file: %q is no kind that is kept", k)
	}
	p, err := f.newPart()
	if err != nil {
		return "", err
	}
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(diskWriter{p}, sum), io.LimitReader(r, limit+1))
	if err == nil && n > limit {
		err = tooLarge(limit)
	}
	name := newName(sum.Sum(nil), k)
	if err == nil {
		err = f.makePlace(name.rel())
	}
	if err != nil {
		p.drop()
		return "", err
	}
	if err := p.place(f.path(name.rel()), nil); err != nil {
		return "", err
	}
	return name, nil
}

// drop takes the part away; what cannot be taken away is swept later.
func (p *part) drop() {
	defer p.f.end(p.name)
	_ = p.Close()
	_ = p.f.disk.Remove(p.f.path(incomingDir, p.name))
}

// diskWriter gives errors of writing their words, to tell them from errors of
// the reader they come with.
type diskWriter struct{ w io.Writer }

func (d diskWriter) Write(b []byte) (int, error) {
	n, err := d.w.Write(b)
	return n, storage("write", err)
}

// makePlace makes the directory a file goes to. It syncs the one above even
// if the directory is there already: an earlier try may have failed between.
func (f *Folder) makePlace(rel string) error {
	dir := f.path(filepath.Dir(rel))
	if err := f.disk.Mkdir(dir); err != nil && !errors.Is(err, fs.ErrExist) {
		return storage("make "+filepath.Dir(rel), err)
	}
	return storage("sync "+filepath.Dir(dir), f.disk.SyncDir(filepath.Dir(dir)))
}

// Open opens a kept file for reading.
func (f *Folder) Open(n Name) (File, error) {
	path, err := f.Path(n)
	if err != nil {
		return nil, err
	}
	r, err := f.disk.Open(path)
	return r, f.notThere(n, err)
}

// Stat describes a kept file.
func (f *Folder) Stat(n Name) (fs.FileInfo, error) {
	path, err := f.Path(n)
	if err != nil {
		return nil, err
	}
	s, err := f.disk.Stat(path)
	return s, f.notThere(n, err)
}

// Path is where a kept file is, or would be.
func (f *Folder) Path(n Name) (string, error) {
	n, err := ParseName(string(n)) // a Name made by hand must not lead elsewhere
	if err != nil {
		return "", err
	}
	return f.path(n.rel()), nil
}

func (f *Folder) notThere(n Name, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("open %s: %w", n, ErrNotThere)
	}
	if err != nil {
		return fmt.Errorf("open %s: %w", n, err)
	}
	return nil
}

// Remove takes a kept file away for good, with its smaller copies. Whether
// nothing speaks of it any more, the history included, is for the caller to
// know.
func (f *Folder) Remove(n Name) error {
	if err := f.mayWrite(); err != nil {
		return err
	}
	path, err := f.Path(n)
	if err != nil {
		return err
	}
	if err := f.disk.Remove(path); errors.Is(err, fs.ErrNotExist) {
		return f.notThere(n, err)
	} else if err != nil {
		return storage("remove "+string(n), err)
	}
	err = f.disk.SyncDir(filepath.Dir(path))
	if err == nil && n.IsPicture() {
		_, err = f.removeCopies(n.hash())
	}
	return storage("remove "+string(n), err)
}
