package files

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sync"
	"time"
)

// FaultDisk is a disk in memory that fails as disks do, for tests of this
// package. After a crash, Reboot gives what is left:
// of a file, what was synced, and of what was not, any sectors or none; of
// names, those made durable by SyncDir, and of the others, any. Renaming is
// one step, as on every file system with a journal.
//
// Every Create, Write, Sync, Rename, Remove, Mkdir and SyncDir is one
// operation and is counted from 1.
type FaultDisk struct {
	mu      sync.Mutex
	rnd     *rand.Rand
	names   map[string]*inode
	durable map[string]*inode
	pending []naming
	locks   map[string]int // −1 alone, else how many share
	trace   []string
	crashed bool
	grown   int64

	// CrashAt is the operation that does not happen any more, 0 for none.
	CrashAt int
	// FailAt is the operation that fails with EIO, once; 0 for none.
	FailAt int
	// Room is how many bytes files may grow by before the disk is full.
	Room int64
	// ReadOnlyAt is the operation from which on the disk is read-only, as a
	// system makes one that fails; 0 for never.
	ReadOnlyAt int
	// Now dates files.
	Now func() time.Time
}

// ErrCrashed is met by everything that uses a FaultDisk after its crash.
var ErrCrashed = errors.New("the machine has crashed")

// sector is the most that is written whole or not at all.
const sector = 512

// inode is a file or directory, whatever its name.
type inode struct {
	dir          bool
	data, synced []byte
	mod          time.Time
}

// naming is a change of names that is not durable yet. Empty from: a new
// name; empty to: a name taken away.
type naming struct {
	from, to string
	node     *inode
}

// NewFaultDisk gives an empty disk of boundless size. The same seed and the
// same use give the same chances.
func NewFaultDisk(seed uint64) *FaultDisk {
	top := &inode{dir: true}
	d := &FaultDisk{
		rnd: rand.New(rand.NewPCG(seed, 1)), Room: 1 << 50, Now: time.Now, locks: map[string]int{},
		names: map[string]*inode{}, durable: map[string]*inode{},
	}
	for _, p := range []string{string(filepath.Separator), "."} {
		d.names[p], d.durable[p] = top, top
	}
	return d
}

// Operations tells what was done so far, in order.
func (d *FaultDisk) Operations() []string {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.trace)
}

// Crashed tells whether CrashAt was reached.
func (d *FaultDisk) Crashed() bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.crashed
}

// Reboot crashes now, if that has not happened, and gives the disk as it is
// found afterwards, without faults.
func (d *FaultDisk) Reboot() *FaultDisk {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.crashed = true
	left := maps.Clone(d.durable)
	for _, n := range d.pending {
		if d.rnd.IntN(2) == 0 {
			n.apply(left)
		}
	}
	after := NewFaultDisk(d.rnd.Uint64())
	after.Now = d.Now
	torn := map[*inode]*inode{}
	for path, n := range left {
		if !reachable(left, path) {
			continue
		}
		if torn[n] == nil {
			torn[n] = d.tear(n)
		}
		after.names[path], after.durable[path] = torn[n], torn[n]
	}
	return after
}

func (n naming) apply(names map[string]*inode) {
	if n.from != "" {
		delete(names, n.from)
	}
	if n.to != "" {
		names[n.to] = n.node
	}
}

// reachable tells whether all directories above path are there.
func reachable(names map[string]*inode, path string) bool {
	for up := filepath.Dir(path); up != path; path, up = up, filepath.Dir(up) {
		if names[up] == nil {
			return false
		}
	}
	return true
}

// tear gives what a crash leaves of a file.
func (d *FaultDisk) tear(n *inode) *inode {
	size := len(n.synced)
	if more := len(n.data) - size; more > 0 {
		size += []int{0, d.rnd.IntN(more + 1), more}[d.rnd.IntN(3)]
	}
	b := make([]byte, size)
	copy(b, n.synced)
	for at := 0; at < size; at += sector {
		if d.rnd.IntN(2) == 0 {
			copy(b[at:min(at+sector, size)], n.data[at:])
		}
	}
	return &inode{dir: n.dir, data: b, synced: slices.Clone(b), mod: n.mod}
}

// operation counts, and answers with the fault that is due.
func (d *FaultDisk) operation(what, path string) error {
	if d.crashed {
		return ErrCrashed
	}
	d.trace = append(d.trace, what+" "+filepath.ToSlash(path))
	var err error
	switch {
	case len(d.trace) == d.CrashAt:
		d.crashed = true
		return ErrCrashed
	case len(d.trace) == d.FailAt:
		err = errors.New("input/output error")
	case d.ReadOnlyAt > 0 && len(d.trace) >= d.ReadOnlyAt:
		err = readOnlyErrors[0]
	default:
		return nil
	}
	return &fs.PathError{Op: what, Path: path, Err: err}
}

// at looks a path up.
func (d *FaultDisk) at(what, path string) (*inode, error) {
	if d.crashed {
		return nil, ErrCrashed
	}
	n := d.names[filepath.Clean(path)]
	if n == nil {
		return nil, &fs.PathError{Op: what, Path: path, Err: fs.ErrNotExist}
	}
	return n, nil
}

// add makes a new name.
func (d *FaultDisk) add(what, path string, n *inode) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.operation(what, path); err != nil {
		return err
	}
	path = filepath.Clean(path)
	if d.names[path] != nil {
		return &fs.PathError{Op: what, Path: path, Err: fs.ErrExist}
	}
	if up := d.names[filepath.Dir(path)]; up == nil || !up.dir {
		return &fs.PathError{Op: what, Path: path, Err: fs.ErrNotExist}
	}
	n.mod = d.Now()
	d.name(naming{to: path, node: n})
	return nil
}

func (d *FaultDisk) name(n naming) {
	n.apply(d.names)
	d.pending = append(d.pending, n)
}

// Create makes a file.
func (d *FaultDisk) Create(path string) (File, error) {
	n := &inode{}
	if err := d.add("create", path, n); err != nil {
		return nil, err
	}
	return &faultFile{d: d, n: n, path: path, writes: true}, nil
}

// Mkdir makes a directory.
func (d *FaultDisk) Mkdir(path string) error { return d.add("mkdir", path, &inode{dir: true}) }

// Open opens a file for reading.
func (d *FaultDisk) Open(path string) (File, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	n, err := d.at("open", path)
	if err != nil {
		return nil, err
	}
	return &faultFile{d: d, n: n, path: path}, nil
}

// Append opens a file for writing at its end.
func (d *FaultDisk) Append(path string) (File, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	n, err := d.at("open", path)
	if err != nil {
		return nil, err
	}
	return &faultFile{d: d, n: n, path: path, writes: true, end: true}, nil
}

// Rename moves a file.
func (d *FaultDisk) Rename(from, to string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.operation("rename", to); err != nil {
		return err
	}
	n, err := d.at("rename", from)
	if err != nil {
		return err
	}
	if _, err := d.at("rename", filepath.Dir(to)); err != nil {
		return err
	}
	d.name(naming{filepath.Clean(from), filepath.Clean(to), n})
	return nil
}

// Remove takes a file away.
func (d *FaultDisk) Remove(path string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.operation("remove", path); err != nil {
		return err
	}
	if _, err := d.at("remove", path); err != nil {
		return err
	}
	d.name(naming{from: filepath.Clean(path)})
	return nil
}

// SyncDir makes the names in a directory durable.
func (d *FaultDisk) SyncDir(path string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.operation("sync directory", path); err != nil {
		return err
	}
	path = filepath.Clean(path)
	var later []naming
	for _, n := range d.pending {
		if !n.in(path) {
			later = append(later, n)
			continue
		}
		n.apply(d.durable)
		// What happened to these names before is done with.
		later = slices.DeleteFunc(later, func(e naming) bool { return n.touches(e.from) || n.touches(e.to) })
	}
	d.pending = later
	return nil
}

func (n naming) in(dir string) bool {
	return n.from != "" && filepath.Dir(n.from) == dir || n.to != "" && filepath.Dir(n.to) == dir
}

func (n naming) touches(path string) bool { return path != "" && (path == n.from || path == n.to) }

// ReadDir lists a directory.
func (d *FaultDisk) ReadDir(path string) ([]fs.DirEntry, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if n, err := d.at("readdir", path); err != nil {
		return nil, err
	} else if !n.dir {
		return nil, &fs.PathError{Op: "readdir", Path: path, Err: fs.ErrInvalid}
	}
	var list []fs.DirEntry
	for _, p := range slices.Sorted(maps.Keys(d.names)) {
		if filepath.Dir(p) == filepath.Clean(path) && p != filepath.Dir(p) {
			list = append(list, fs.FileInfoToDirEntry(d.info(p, d.names[p])))
		}
	}
	return list, nil
}

// Stat describes a file.
func (d *FaultDisk) Stat(path string) (fs.FileInfo, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	n, err := d.at("stat", path)
	if err != nil {
		return nil, err
	}
	return d.info(path, n), nil
}

// Free is what is left of Room.
func (d *FaultDisk) Free(string) (int64, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.Room - d.grown, nil
}

// Lock takes a lock, which a crash frees.
func (d *FaultDisk) Lock(path string, alone bool) (io.Closer, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	held := d.locks[path]
	if held < 0 || alone && held > 0 {
		return nil, fmt.Errorf("lock %s: %w", path, errLocked)
	}
	change := 1
	if alone {
		change = -1
	}
	d.locks[path] += change
	return closer(sync.OnceFunc(func() {
		d.mu.Lock()
		defer d.mu.Unlock()
		d.locks[path] -= change
	})), nil
}

type closer func()

func (c closer) Close() error { c(); return nil }
