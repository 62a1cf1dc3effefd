package sqlite_test

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
)

// sector is the size in which a disk writes at once: what is smaller comes
// whole or not at all. Chosen: the smallest that disks have had.
const sector = 512

// deed is what one operation did to a disk.
type deed int

const (
	created deed = iota
	wrote
	truncated
	synced  // the file, and with names the folder's names too
	notSync // a sync that failed: what it was to make safe may never be
	deleted
)

// op is one operation of a disk that changes something.
type op struct {
	deed  deed
	file  int // number of the file, whatever its name
	name  string
	at    int64 // of a write; the length for a truncation
	data  []byte
	names bool // the folder was synced with it
}

// file is what a program sees of a file before any crash.
type file struct {
	number int
	data   []byte
	fresh  bool // its name is not yet safe, and its first sync makes it so
}

// disk is a folder in memory that notes every operation, so that what a crash
// would leave can be reckoned for any moment afterwards (see image).
type disk struct {
	mu    sync.Mutex
	files map[string]*file
	names int   // how many files there ever were
	most  int64 // how many bytes they ever held together
	log   []op
	// room is how many bytes all files may hold together, negative for any
	// number; readOnly refuses every change. sulk, when set, may refuse an
	// operation that is about to be done.
	room     int64
	readOnly bool
	lies     bool // says that it has synced, and has not
	sulk     func(op) bool
}

// newDisk makes a disk on which files lie safely.
func newDisk(files map[string][]byte) *disk {
	d := &disk{files: map[string]*file{}, room: -1}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		f := d.create(name, false)
		d.write(f, 0, files[name])
		d.log = append(d.log, op{deed: synced, file: f.number, names: true})
		f.fresh = false
	}
	return d
}

// create makes an empty file. A journal's first sync makes its name safe, as
// SQLite's own layer for Unix has it; that of other files does not.
func (d *disk) create(name string, journal bool) *file {
	d.names++
	f := &file{number: d.names, fresh: journal}
	if name != "" {
		d.files[name] = f
	}
	d.log = append(d.log, op{deed: created, file: f.number, name: name})
	return f
}

// write does as much of a write as there is room for, and tells whether that
// was all.
func (d *disk) write(f *file, at int64, data []byte) bool {
	whole := true
	if grows := at + int64(len(data)) - int64(len(f.data)); d.room >= 0 && grows > 0 {
		if over := d.used() + grows - d.room; over > 0 {
			data, whole = data[:max(0, int64(len(data))-over)], false
		}
	}
	if len(data) > 0 {
		o := op{deed: wrote, file: f.number, at: at, data: bytes.Clone(data)}
		d.log = append(d.log, o)
		f.data = o.onto(f.data)
		d.most = max(d.most, d.used())
	}
	return whole
}

func (d *disk) used() (n int64) {
	for _, f := range d.files {
		n += int64(len(f.data))
	}
	return n
}

func (d *disk) truncate(f *file, to int64) {
	o := op{deed: truncated, file: f.number, at: to}
	d.log = append(d.log, o)
	f.data = o.onto(f.data)
}

func (d *disk) sync(f *file) {
	if d.lies {
		return
	}
	d.log = append(d.log, op{deed: synced, file: f.number, names: f.fresh})
	f.fresh = false
}

func (d *disk) delete(name string, names bool) {
	d.log = append(d.log, op{deed: deleted, file: d.files[name].number, name: name, names: names})
	delete(d.files, name)
}

// set changes how the disk behaves from now on.
func (d *disk) set(how func(*disk)) {
	d.mu.Lock()
	defer d.mu.Unlock()
	how(d)
}

// done is how many operations there were.
func (d *disk) done() int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.log)
}

// onto does a write or truncation to content.
func (o op) onto(content []byte) []byte {
	end := o.at + int64(len(o.data))
	if grow := end - int64(len(content)); grow > 0 {
		content = append(content, make([]byte, grow)...)
	}
	if o.deed == truncated {
		return content[:o.at]
	}
	copy(content[o.at:], o.data)
	return content
}

// crash is what becomes of what was not yet safe when the power fails.
type crash int

const (
	lost   crash = iota // nothing of it is there
	kept                // all of it is: as when only the program was killed
	torn                // all but the end of the last write
	subset              // any of its sectors, and any of the names
)

var crashes = map[crash]string{lost: "all unsafe lost", kept: "all kept", torn: "last write torn", subset: "any sectors lost"}

// onDisk is a file as the platter has it, and what waits to be written.
type onDisk struct {
	safe    []byte
	waiting []op
	doubted []op // waited for a sync that failed
}

// image gives the files as the disk has them after a crash that follows the
// first n operations.
func image(log []op, n int, how crash, r *rand.Rand) map[string][]byte {
	inodes := map[int]*onDisk{}
	names := map[string]int{}
	var waiting []op // for the folder
	for i, o := range log[:n] {
		switch o.deed {
		case created:
			inodes[o.file] = &onDisk{}
			waiting = append(waiting, o)
		case wrote, truncated:
			if how == torn && i == n-1 && o.deed == wrote {
				o.data = o.data[:r.IntN(len(o.data)/sector+1)*sector]
			}
			inodes[o.file].waiting = append(inodes[o.file].waiting, o)
		case synced:
			inodes[o.file].settle(how, r)
		case notSync:
			f := inodes[o.file]
			f.doubted, f.waiting = append(f.doubted, f.waiting...), nil
		case deleted:
			waiting = append(waiting, o)
		}
		if o.names {
			rename(names, waiting, kept, r)
			waiting = nil
		}
	}
	rename(names, waiting, how, r)
	out := map[string][]byte{}
	for name, number := range names {
		if name != "" {
			out[name] = inodes[number].after(how, r)
		}
	}
	return out
}

// settle makes safe what waits. What had waited for a sync that failed is no
// safer for a later one that went well: the system may have forgotten it.
func (f *onDisk) settle(how crash, r *rand.Rand) {
	f.safe = survive(f.safe, f.doubted, how, r)
	f.safe = survive(f.safe, f.waiting, kept, r)
	f.doubted, f.waiting = nil, nil
}

// after is what a crash leaves.
func (f *onDisk) after(how crash, r *rand.Rand) []byte {
	content := bytes.Clone(f.safe)
	content = survive(content, f.doubted, how, r)
	return survive(content, f.waiting, how, r)
}

// survive does to content what a crash leaves of ops.
func survive(content []byte, ops []op, how crash, r *rand.Rand) []byte {
	for _, o := range ops {
		switch {
		case how == lost:
		case how == kept || how == torn:
			content = o.onto(content)
		case o.deed == truncated:
			if r.IntN(2) == 0 {
				content = o.onto(content)
			}
		default:
			content = o.someOnto(content, r)
		}
	}
	return content
}

// someOnto writes any of the sectors. What a file has gained by a sector that
// was lost holds nothing or anything.
func (o op) someOnto(content []byte, r *rand.Rand) []byte {
	for from := o.at; from < o.at+int64(len(o.data)); {
		to := min(from-from%sector+sector, o.at+int64(len(o.data)))
		part := op{deed: wrote, at: from, data: o.data[from-o.at : to-o.at]}
		switch r.IntN(6) {
		case 0, 1, 2:
			content = part.onto(content)
		case 3:
			if from >= int64(len(content)) {
				part.data = bytes.Repeat([]byte{byte(r.Uint32())}, len(part.data))
				content = part.onto(content)
			}
		}
		from = to
	}
	return content
}

// rename does to the folder what a crash leaves of ops.
func rename(names map[string]int, ops []op, how crash, r *rand.Rand) {
	for _, o := range ops {
		if how == lost || how == subset && r.IntN(2) == 0 {
			continue
		}
		if o.deed == created {
			names[o.name] = o.file
		} else if names[o.name] == o.file {
			delete(names, o.name)
		}
	}
}

// journal tells whether a file's first sync makes its name safe.
func journal(name string) bool {
	return strings.HasSuffix(name, "-wal") || strings.HasSuffix(name, "-journal")
}
