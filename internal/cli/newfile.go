package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
)

// newFile is a file being written that appears under its name whole or not at
// all: what is written goes beside it first, is synced, and is then renamed.
type newFile struct {
	*os.File
	path   string // where it shall stand
	direct bool   // a device or pipe, which cannot be renamed over
	done   bool
}

// createFile begins a file at path. Where something stands already that is no
// ordinary file (a device, a pipe), it is written to as it is.
func createFile(path string) (*newFile, error) {
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return nil, fmt.Errorf("write %s: it is a folder; give a file name", path)
	case err == nil && !info.Mode().IsRegular():
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return nil, fmt.Errorf("write: %w", err)
		}
		return &newFile{File: f, path: path, direct: true}, nil
	case err == nil:
		// A link stays a link: what it points to is replaced.
		if path, err = filepath.EvalSymlinks(path); err != nil {
			return nil, fmt.Errorf("write: %w", err)
		}
	}
	f, err := createBeside(path)
	if err != nil {
		return nil, fmt.Errorf("write %s: %w; check that the folder is there and may be written to", path, err)
	}
	return &newFile{File: f, path: path}, nil
}

// createBeside makes an unused hidden name in the folder of path. os.CreateTemp
// is not used because it takes the file's permissions from the others.
func createBeside(path string) (*os.File, error) {
	dir, base := filepath.Split(path)
	for i := range 1000 {
		f, err := os.OpenFile(dir+"."+base+".part"+strconv.Itoa(os.Getpid()+i), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
	return nil, fs.ErrExist
}

// commit puts the file in its place.
func (f *newFile) commit() error {
	f.done = true
	if f.direct {
		return f.Close()
	}
	err := errors.Join(f.Sync(), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), f.path)
	}
	if err != nil {
		_ = os.Remove(f.Name())
		return fmt.Errorf("write %s: %w; nothing was left there", f.path, err)
	}
	syncFolder(filepath.Dir(f.path))
	return nil
}

// discard drops what was written, unless it was committed.
func (f *newFile) discard() {
	if f == nil || f.done {
		return
	}
	f.done = true
	_ = f.Close()
	if !f.direct {
		_ = os.Remove(f.Name())
	}
}

// syncFolder makes a rename durable. Some systems cannot sync a folder, and
// then there is nothing to do about it.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
}
