package files

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// errLocked is given by Disk.Lock for a lock that another holds.
var errLocked = errors.New("locked by another program")

// Owners and prices are nobody else's business on a shared machine.
const (
	dirMode  = 0o700
	fileMode = 0o600
)

// OSDisk is the disk of this machine.
type OSDisk struct{}

// Create is os.OpenFile, making a new file.
func (OSDisk) Create(path string) (File, error) {
	return file(os.OpenFile(path, os.O_RDWR|os.O_CREATE|os.O_EXCL, fileMode))
}

// Append is os.OpenFile for writing at the end.
func (OSDisk) Append(path string) (File, error) {
	return file(os.OpenFile(path, os.O_RDWR|os.O_APPEND, fileMode))
}

// Open is os.Open.
func (OSDisk) Open(path string) (File, error) { return file(os.Open(path)) }

// file keeps a nil *os.File from becoming a File that is not nil.
func file(f *os.File, err error) (File, error) {
	if err != nil {
		return nil, err
	}
	return f, nil
}

// Rename is os.Rename.
func (OSDisk) Rename(from, to string) error { return os.Rename(from, to) }

// Remove is os.Remove.
func (OSDisk) Remove(path string) error { return os.Remove(path) }

// Mkdir is os.Mkdir.
func (OSDisk) Mkdir(path string) error { return os.Mkdir(path, dirMode) }

// ReadDir is os.ReadDir.
func (OSDisk) ReadDir(path string) ([]fs.DirEntry, error) { return os.ReadDir(path) }

// Stat is os.Stat.
func (OSDisk) Stat(path string) (fs.FileInfo, error) { return os.Stat(path) }

// Lock takes a lock of the operating system on a file, which it makes if need
// be.
func (OSDisk) Lock(path string, alone bool) (io.Closer, error) {
	mode := os.O_RDWR | os.O_CREATE
	if !alone {
		mode = os.O_RDONLY
	}
	f, err := os.OpenFile(path, mode, fileMode)
	if err != nil {
		return nil, err
	}
	if err := lockFile(f, alone); err != nil {
		f.Close()
		return nil, fmt.Errorf("lock %s: %w", path, err)
	}
	return f, nil
}
