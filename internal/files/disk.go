package files

import (
	"io"
	"io/fs"
)

// Disk is all that a Folder asks of a disk, so that tests can put a failing
// one in its place. Paths are those of path/filepath; errors are as package
// os gives them.
type Disk interface {
	// Create makes a file for writing and reading; fs.ErrExist if there is one.
	Create(path string) (File, error)
	// Append opens a file that is there, to write at its end.
	Append(path string) (File, error)
	// Open opens a file for reading.
	Open(path string) (File, error)
	// Rename moves a file, replacing what stands there, in one step.
	Rename(from, to string) error
	// Remove takes a file away.
	Remove(path string) error
	// Mkdir makes one directory; fs.ErrExist if there is one.
	Mkdir(path string) error
	// ReadDir lists a directory, sorted by name.
	ReadDir(path string) ([]fs.DirEntry, error)
	// Stat describes a file.
	Stat(path string) (fs.FileInfo, error)
	// SyncDir makes durable which names stand in a directory.
	SyncDir(path string) error
	// Lock takes the lock at path, alone or shared, without waiting; errLocked
	// if another holds it. It ends with Close or with the process.
	Lock(path string, alone bool) (io.Closer, error)
	// Free is how many bytes may still be written below path.
	Free(path string) (int64, error)
}

// File is an open file.
type File interface {
	io.Reader
	io.ReaderAt
	io.Writer
	io.Seeker
	io.Closer
	// Sync makes durable what was written.
	Sync() error
	// Stat describes the file.
	Stat() (fs.FileInfo, error)
}
