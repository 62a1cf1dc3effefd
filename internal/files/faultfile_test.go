package files

import (
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"time"
)

// faultFile is an open file of a FaultDisk.
type faultFile struct {
	d           *FaultDisk
	n           *inode
	path        string
	writes, end bool
	at          int64
	closed      bool
}

func (f *faultFile) usable(what string) error {
	switch {
	case f.d.crashed:
		return ErrCrashed
	case f.closed:
		return &fs.PathError{Op: what, Path: f.path, Err: fs.ErrClosed}
	}
	return nil
}

// Write writes at the file's place. A crash or a full disk may come in its
// middle.
func (f *faultFile) Write(b []byte) (int, error) {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("write"); err != nil {
		return 0, err
	}
	if !f.writes {
		return 0, &fs.PathError{Op: "write", Path: f.path, Err: fs.ErrPermission}
	}
	err := f.d.operation("write", f.path)
	if f.end {
		f.at = int64(len(f.n.data))
	}
	n := len(b)
	if err != nil {
		n = f.partly(n)
	} else if room := f.d.Room - f.d.grown; f.growth(n) > room {
		n -= int(f.growth(n) - max(0, room))
		err = &fs.PathError{Op: "write", Path: f.path, Err: fullErrors[0]}
	}
	f.put(b[:n])
	return n, err
}

// growth is by how much the file grows with n bytes written now.
func (f *faultFile) growth(n int) int64 {
	return max(0, f.at+int64(n)-int64(len(f.n.data)))
}

// partly gives how much of n bytes a fault lets through: up to the end of a
// sector, and nothing on a disk that is read-only.
func (f *faultFile) partly(n int) int {
	if f.d.ReadOnlyAt > 0 {
		return 0
	}
	end := f.at + int64(f.d.rnd.IntN(n+1))
	return int(max(0, end/sector*sector-f.at))
}

func (f *faultFile) put(b []byte) {
	grow := f.growth(len(b))
	f.n.data = append(f.n.data, make([]byte, grow)...)
	copy(f.n.data[f.at:], b)
	f.at += int64(len(b))
	f.d.grown += grow
	f.n.mod = f.d.Now()
}

// Sync makes the content durable, not the name.
func (f *faultFile) Sync() error {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("sync"); err != nil {
		return err
	}
	if err := f.d.operation("sync", f.path); err != nil {
		return err
	}
	f.n.synced = slices.Clone(f.n.data)
	return nil
}

// Read reads at the file's place.
func (f *faultFile) Read(b []byte) (int, error) {
	n, err := f.ReadAt(b, f.at)
	f.at += int64(n)
	if n > 0 {
		err = nil
	}
	return n, err
}

// ReadAt reads at a place.
func (f *faultFile) ReadAt(b []byte, at int64) (int, error) {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("read"); err != nil {
		return 0, err
	}
	if at >= int64(len(f.n.data)) {
		return 0, io.EOF
	}
	n := copy(b, f.n.data[at:])
	if n < len(b) {
		return n, io.EOF
	}
	return n, nil
}

// Seek moves the file's place.
func (f *faultFile) Seek(offset int64, whence int) (int64, error) {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("seek"); err != nil {
		return 0, err
	}
	switch whence {
	case io.SeekCurrent:
		offset += f.at
	case io.SeekEnd:
		offset += int64(len(f.n.data))
	}
	if offset < 0 {
		return 0, &fs.PathError{Op: "seek", Path: f.path, Err: fs.ErrInvalid}
	}
	f.at = offset
	return offset, nil
}

// Close closes the file; it syncs nothing.
func (f *faultFile) Close() error {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("close"); err != nil {
		return err
	}
	f.closed = true
	return nil
}

// Stat describes the file.
func (f *faultFile) Stat() (fs.FileInfo, error) {
	f.d.mu.Lock()
	defer f.d.mu.Unlock()
	if err := f.usable("stat"); err != nil {
		return nil, err
	}
	return f.d.info(f.path, f.n), nil
}

// faultInfo is what a FaultDisk says of a file.
type faultInfo struct {
	name string
	size int64
	dir  bool
	mod  time.Time
}

func (d *FaultDisk) info(path string, n *inode) fs.FileInfo {
	return faultInfo{filepath.Base(path), int64(len(n.data)), n.dir, n.mod}
}

func (i faultInfo) Name() string       { return i.name }
func (i faultInfo) Size() int64        { return i.size }
func (i faultInfo) IsDir() bool        { return i.dir }
func (i faultInfo) ModTime() time.Time { return i.mod }
func (i faultInfo) Sys() any           { return nil }
func (i faultInfo) Mode() fs.FileMode {
	if i.dir {
		return fs.ModeDir | dirMode
	}
	return fileMode
}
