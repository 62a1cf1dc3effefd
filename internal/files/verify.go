package files

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// Report is what Verify found.
type Report struct {
	Good         int               // files whose content is what their name says
	Missing      []Name            // referenced, and not there
	Changed      []Name            // content is not what the name says
	Unreferenced []Name            // whole, and spoken of by no one
	Strange      []string          // not ours; slash paths from the folder
	Unreadable   map[string]string // slash path to what the disk said
}

// OK tells that nothing is lost; files too many are no loss.
func (r Report) OK() bool { return len(r.Missing)+len(r.Changed)+len(r.Unreadable) == 0 }

// Verify reads all kept files and compares them with their names, and these
// with the names that are referenced. It changes nothing, and may be used
// beside a bench that writes; then files put meanwhile count as unreferenced.
func (f *Folder) Verify(ctx context.Context, referenced []Name) (Report, error) {
	r := Report{Unreadable: map[string]string{}}
	seen, wanted := map[Name]bool{}, map[Name]bool{}
	for _, n := range referenced {
		wanted[n] = true
	}
	err := f.walk(func(n Name, path string) error {
		if n == "" {
			r.Strange = append(r.Strange, f.slash(path))
			return nil
		}
		seen[n] = true
		return f.verify(ctx, &r, n, path, wanted[n])
	}, func(path string, err error) {
		r.Unreadable[f.slash(path)] = err.Error()
	})
	if err != nil {
		return r, err
	}
	for n := range wanted {
		if !seen[n] {
			r.Missing = append(r.Missing, n)
		}
	}
	slices.Sort(r.Missing)
	return r, nil
}

func (f *Folder) verify(ctx context.Context, r *Report, n Name, path string, wanted bool) error {
	sum, err := f.sum(ctx, path)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil:
		r.Unreadable[f.slash(path)] = err.Error()
	case hex.EncodeToString(sum) != n.hash():
		r.Changed = append(r.Changed, n)
	default:
		r.Good++
		if !wanted {
			r.Unreferenced = append(r.Unreferenced, n)
		}
	}
	return nil
}

// sum is the SHA-256 of a file.
func (f *Folder) sum(ctx context.Context, path string) ([]byte, error) {
	r, err := f.disk.Open(path)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	h := sha256.New()
	_, err = io.Copy(h, ctxReader{ctx, r})
	return h.Sum(nil), err
}

type ctxReader struct {
	ctx context.Context
	r   io.Reader
}

func (c ctxReader) Read(b []byte) (int, error) {
	if err := c.ctx.Err(); err != nil {
		return 0, err
	}
	return c.r.Read(b)
}

func (f *Folder) slash(path string) string {
	rel, err := filepath.Rel(f.dir, path)
	if err != nil {
		return path
	}
	return filepath.ToSlash(rel)
}

// walk visits all that stands where kept files do, "" for what has not the
// name and place of one; bad is told of directories that cannot be read.
func (f *Folder) walk(visit func(Name, string) error, bad func(string, error)) error {
	for _, top := range []string{soundDir, pictureDir} {
		dirs, err := f.disk.ReadDir(f.path(top))
		if err != nil {
			bad(f.path(top), err)
			continue
		}
		for _, d := range dirs {
			path := f.path(top, d.Name())
			if !d.IsDir() {
				if err := visit("", path); err != nil {
					return err
				}
				continue
			}
			if err := f.walkDir(top, d.Name(), visit, bad); err != nil {
				return err
			}
		}
	}
	return nil
}

func (f *Folder) walkDir(top, dir string, visit func(Name, string) error, bad func(string, error)) error {
	list, err := f.disk.ReadDir(f.path(top, dir))
	if err != nil {
		bad(f.path(top, dir), err)
		return nil
	}
	for _, e := range list {
		n, err := ParseName(e.Name())
		if err != nil || n.rel() != filepath.Join(top, dir, e.Name()) || !e.Type().IsRegular() {
			n = ""
		}
		if err := visit(n, f.path(top, dir, e.Name())); err != nil {
			return err
		}
	}
	return nil
}

// Swept says what Sweep removed.
type Swept struct {
	Parts  int // files on their way in that were left behind
	Copies int // smaller copies of pictures that are no more
}

// Sweep removes what a crash left in incoming, where it is older than age, and
// copies whose picture is gone. It never touches a kept file, nor growing
// sound: that goes by Forget alone.
func (f *Folder) Sweep(age time.Duration) (Swept, error) {
	var s Swept
	if err := f.mayWrite(); err != nil {
		return s, err
	}
	list, err := f.disk.ReadDir(f.path(incomingDir))
	if err != nil {
		return s, fmt.Errorf("sweep %s: %w", incomingDir, err)
	}
	for _, e := range list {
		gone, err := f.sweepPart(e, age)
		if err != nil {
			return s, storage("sweep "+incomingDir, err)
		}
		if gone {
			s.Parts++
		}
	}
	s.Copies, err = f.sweepCopies()
	return s, storage("sweep "+thumbDir, err)
}

func (f *Folder) sweepPart(e fs.DirEntry, age time.Duration) (gone bool, err error) {
	name := e.Name()
	if !strings.HasPrefix(name, "put-") || !strings.HasSuffix(name, partEnd) || f.isActive(name) {
		return false, nil
	}
	i, err := e.Info()
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil || f.now().Sub(i.ModTime()) < age {
		return false, err
	}
	return true, f.disk.Remove(f.path(incomingDir, name))
}

func (f *Folder) sweepCopies() (n int, err error) {
	dirs, err := f.disk.ReadDir(f.path(thumbDir))
	if err != nil {
		return 0, err
	}
	for _, d := range dirs {
		list, err := f.disk.ReadDir(f.path(thumbDir, d.Name()))
		if err != nil {
			continue // a file, or gone
		}
		for _, e := range list {
			hash := copyOf(e.Name())
			if hash == "" || f.hasPicture(hash) {
				continue
			}
			k, err := f.removeCopies(hash)
			n += k
			if err != nil {
				return n, err
			}
		}
	}
	return n, nil
}

// hasPicture tells whether a picture of any kind has this hash; in doubt it
// has.
func (f *Folder) hasPicture(hash string) bool {
	for k, place := range places {
		if place != pictureDir {
			continue
		}
		if _, err := f.Stat(Name(hash + "." + string(k))); !errors.Is(err, ErrNotThere) {
			return true
		}
	}
	return false
}
