package files

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"sync"
	"time"

	"beatwright"
)

// Directories and files of the folder.
const (
	soundDir    = "sound"
	pictureDir  = "pictures"
	thumbDir    = "thumbnails"
	incomingDir = "incoming"
	lockName    = "bench.lock"
	holderName  = "bench.json"
)

// Options say how a folder is opened; the zero value opens for writing on
// this machine's disk.
type Options struct {
	// ReadOnly opens beside a program that writes; it takes no lock, makes
	// nothing, and fails if there is no folder.
	ReadOnly bool
	// Address is where the program can be reached, if that is known already;
	// else SetAddress tells it later.
	Address string
	// Disk is the disk to use, nil for this machine's.
	Disk Disk
	// Now gives the time, nil for the machine's clock.
	Now func() time.Time
}

// Folder is an open workshop folder. It may be used by several goroutines.
type Folder struct {
	dir      string
	disk     Disk
	now      func() time.Time
	readOnly bool
	lock     io.Closer

	mu     sync.Mutex
	active map[string]bool // files in incoming that this process writes
}

// Open opens the folder at dir. For writing it makes what is missing and takes
// the lock; a folder that another program writes to gives an error of code
// Busy with a *BusyError in it.
func Open(dir string, o Options) (*Folder, error) {
	f := &Folder{dir: dir, disk: o.Disk, now: o.Now, readOnly: o.ReadOnly, active: map[string]bool{}}
	if f.disk == nil {
		f.disk = OSDisk{}
	}
	if f.now == nil {
		f.now = time.Now
	}
	if o.ReadOnly {
		return f, f.mustExist()
	}
	if err := makeDirs(f.disk, dir); err != nil {
		return nil, storage("make "+dir, err)
	}
	if err := f.takeLock(); err != nil {
		return nil, err
	}
	if err := f.prepare(o.Address); err != nil {
		return nil, errors.Join(err, f.lock.Close())
	}
	return f, nil
}

// prepare makes the layout and says who holds the folder.
func (f *Folder) prepare(address string) error {
	for _, d := range []string{soundDir, pictureDir, thumbDir, incomingDir} {
		if err := f.disk.Mkdir(f.path(d)); err != nil && !errors.Is(err, fs.ErrExist) {
			return storage("make "+d, err)
		}
	}
	if err := f.disk.SyncDir(f.dir); err != nil {
		return storage("sync "+f.dir, err)
	}
	return f.SetAddress(address)
}

// mustExist refuses a directory that is no workshop folder.
func (f *Folder) mustExist() error {
	s, err := f.disk.Stat(f.path(soundDir))
	if err == nil && s.IsDir() {
		return nil
	}
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return storage("look at "+f.dir, err)
	}
	return &beatwright.Error{
		Code: beatwright.Missing, Text: "there is no workshop in " + f.dir,
		Do: "name the folder of one, or start the bench to make it", Err: fs.ErrNotExist,
	}
}

// makeDirs makes dir and what is missing above it, durably.
func makeDirs(d Disk, dir string) error {
	if s, err := d.Stat(dir); err == nil {
		if !s.IsDir() {
			return &beatwright.Error{Code: beatwright.Wrong, Text: dir + " is a file, not a folder", Do: "name another place for the workshop"}
		}
		return nil
	}
	up := filepath.Dir(dir)
	if up != dir {
		if err := makeDirs(d, up); err != nil {
			return err
		}
	}
	if err := d.Mkdir(dir); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return d.SyncDir(up)
}

// Close gives the lock back. Sound that is still growing should be finished
// or closed before; if not, Salvage finds it.
func (f *Folder) Close() error {
	if f.lock == nil {
		return nil
	}
	err := f.disk.Remove(f.path(holderName))
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	err = errors.Join(storage("remove "+holderName, err), f.lock.Close())
	f.lock, f.readOnly = nil, true
	return err
}

// Dir is where the folder is.
func (f *Folder) Dir() string { return f.dir }

// Free is how many bytes the disk still takes.
func (f *Folder) Free() (int64, error) {
	n, err := f.disk.Free(f.dir)
	if err != nil {
		return 0, fmt.Errorf("ask for free space in %s: %w", f.dir, err)
	}
	return n, nil
}

func (f *Folder) path(parts ...string) string {
	return filepath.Join(append([]string{f.dir}, parts...)...)
}

// mayWrite refuses writing where the folder was opened for reading.
func (f *Folder) mayWrite() error {
	if !f.readOnly {
		return nil
	}
	return &beatwright.Error{
		Code: beatwright.Storage, Text: "the workshop folder is open for reading only",
		Do: "do this at the bench's page", Err: ErrReadOnly,
	}
}

// begin and end mark a file in incoming as being written here; begin is false
// if it is so already.
func (f *Folder) begin(name string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.active[name] {
		return false
	}
	f.active[name] = true
	return true
}

func (f *Folder) end(name string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.active, name)
}

func (f *Folder) isActive(name string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.active[name]
}
