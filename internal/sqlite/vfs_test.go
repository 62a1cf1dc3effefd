package sqlite_test

import (
	"fmt"
	"path"
	"sync"
	"testing"
	"time"
	"unsafe"

	"beatwright/internal/sqlite"

	"modernc.org/libc"
	lib "modernc.org/sqlite/lib"
)

// The disks in memory stand under SQLite as one file layer (sqlite3_vfs); the
// first part of a path is the disk's name. What the layer says of itself, and
// when it syncs the folder, is as SQLite's layer for Unix does it (os_unix.c:
// sectors of 4096 bytes, powersafe overwrite, the folder is synced at the
// first sync of a new journal and at a deletion that asks for it).
const layer = "crashing"

var mounts = struct {
	sync.Mutex
	disks map[string]*disk
	open  map[uintptr]*opened
	last  uintptr
}{disks: map[string]*disk{}, open: map[uintptr]*opened{}}

// opened is a file that SQLite has open.
type opened struct {
	disk *disk
	file *file
	name string // to be deleted at the close, if any
}

// mount gives a disk a folder's name for as long as the test runs.
func mount(t testing.TB, d *disk) (dir string) {
	mounts.Lock()
	defer mounts.Unlock()
	register()
	mounts.last++
	dir = fmt.Sprintf("disk%d", mounts.last)
	mounts.disks[dir] = d
	t.Cleanup(func() {
		mounts.Lock()
		defer mounts.Unlock()
		delete(mounts.disks, dir)
	})
	return dir
}

// options are those of a store on a disk in memory.
func options() sqlite.Options { return sqlite.Options{Now: clock(), VFS: layer} }

var (
	vfs     lib.Tsqlite3_vfs
	methods lib.Tsqlite3_io_methods
)

// handle is what SQLite keeps of an open file.
type handle struct {
	base lib.Tsqlite3_file
	open uintptr
}

// set puts a Go function where SQLite looks for a C one.
func set[F any](at *uintptr, f F) { *(*F)(unsafe.Pointer(at)) = f }

var register = sync.OnceFunc(func() {
	methods.FiVersion = 1 // without shared memory
	set(&methods.FxClose, xClose)
	set(&methods.FxRead, xRead)
	set(&methods.FxWrite, xWrite)
	set(&methods.FxTruncate, xTruncate)
	set(&methods.FxSync, xSync)
	set(&methods.FxFileSize, xFileSize)
	set(&methods.FxLock, func(*libc.TLS, uintptr, int32) int32 { return lib.SQLITE_OK })
	set(&methods.FxUnlock, func(*libc.TLS, uintptr, int32) int32 { return lib.SQLITE_OK })
	set(&methods.FxCheckReservedLock, xCheckReservedLock)
	set(&methods.FxFileControl, func(*libc.TLS, uintptr, int32, uintptr) int32 { return lib.SQLITE_NOTFOUND })
	set(&methods.FxSectorSize, func(*libc.TLS, uintptr) int32 { return 4096 })
	set(&methods.FxDeviceCharacteristics, func(*libc.TLS, uintptr) int32 { return lib.SQLITE_IOCAP_POWERSAFE_OVERWRITE })

	tls := libc.NewTLS()
	name, err := libc.CString(layer)
	if err != nil {
		panic("sqlite_test: no room for a name")
	}
	vfs.FiVersion, vfs.FszOsFile, vfs.FmxPathname, vfs.FzName = 1, int32(unsafe.Sizeof(handle{})), 512, name
	set(&vfs.FxOpen, xOpen)
	set(&vfs.FxDelete, xDelete)
	set(&vfs.FxAccess, xAccess)
	set(&vfs.FxFullPathname, xFullPathname)
	set(&vfs.FxSleep, func(_ *libc.TLS, _ uintptr, us int32) int32 { return us })
	set(&vfs.FxCurrentTime, xCurrentTime)
	set(&vfs.FxGetLastError, func(*libc.TLS, uintptr, int32, uintptr) int32 { return 0 })
	set(&vfs.FxRandomness, func(_ *libc.TLS, _ uintptr, n int32, to uintptr) int32 { clear(memory(to, n)); return n })
	if rc := lib.Xsqlite3_vfs_register(tls, uintptr(unsafe.Pointer(&vfs)), 0); rc != lib.SQLITE_OK {
		panic(fmt.Sprintf("sqlite_test: register the file layer: %d", rc))
	}
})

// pointer gives what SQLite, in memory of its own, points to.
func pointer(p uintptr) unsafe.Pointer { return *(*unsafe.Pointer)(unsafe.Pointer(&p)) }

func memory(p uintptr, n int32) []byte { return unsafe.Slice((*byte)(pointer(p)), n) }

func put[T any](at uintptr, v T) {
	if at != 0 {
		*(*T)(pointer(at)) = v
	}
}

// with finds the open file and holds its disk.
func with(p uintptr, do func(*opened) int32) int32 {
	mounts.Lock()
	o := mounts.open[(*handle)(pointer(p)).open]
	mounts.Unlock()
	o.disk.mu.Lock()
	defer o.disk.mu.Unlock()
	return do(o)
}

// on finds the disk of a path and holds it.
func on(zName uintptr, otherwise int32, do func(d *disk, name string) int32) int32 {
	dir, name := path.Split(libc.GoString(zName))
	mounts.Lock()
	d := mounts.disks[path.Clean(dir)]
	mounts.Unlock()
	if d == nil {
		return otherwise
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	return do(d, name)
}

func xOpen(_ *libc.TLS, _, zName, p uintptr, flags int32, out uintptr) int32 {
	h := (*handle)(pointer(p))
	h.base.FpMethods = 0
	o := &opened{}
	if zName == 0 { // of no name and for a while: beside every disk
		o.disk = newDisk(nil)
		o.file = o.disk.create("", false)
	} else if rc := on(zName, lib.SQLITE_CANTOPEN, func(d *disk, name string) int32 { return o.find(d, name, &flags) }); rc != lib.SQLITE_OK {
		return rc
	}
	mounts.Lock()
	defer mounts.Unlock()
	mounts.last++
	h.open = mounts.last
	mounts.open[h.open] = o
	h.base.FpMethods = uintptr(unsafe.Pointer(&methods))
	put(out, flags)
	return lib.SQLITE_OK
}

// find opens a file by name, making it if that is asked.
func (o *opened) find(d *disk, name string, flags *int32) int32 {
	o.disk, o.file = d, d.files[name]
	if d.readOnly {
		if o.file == nil {
			return lib.SQLITE_CANTOPEN
		}
		*flags = *flags&^(lib.SQLITE_OPEN_READWRITE|lib.SQLITE_OPEN_CREATE) | lib.SQLITE_OPEN_READONLY
	}
	if o.file == nil {
		if *flags&lib.SQLITE_OPEN_CREATE == 0 || d.sulks(op{deed: created, name: name}) {
			return lib.SQLITE_CANTOPEN
		}
		o.file = d.create(name, journal(name))
	}
	if *flags&lib.SQLITE_OPEN_DELETEONCLOSE != 0 {
		o.name = name
	}
	return lib.SQLITE_OK
}

func (d *disk) sulks(o op) bool { return d.sulk != nil && d.sulk(o) }

func xClose(_ *libc.TLS, p uintptr) int32 {
	with(p, func(o *opened) int32 {
		if o.name != "" && o.disk.files[o.name] == o.file {
			o.disk.delete(o.name, false)
		}
		return lib.SQLITE_OK
	})
	mounts.Lock()
	defer mounts.Unlock()
	delete(mounts.open, (*handle)(pointer(p)).open)
	return lib.SQLITE_OK
}

func xRead(_ *libc.TLS, p, to uintptr, n int32, at int64) int32 {
	return with(p, func(o *opened) int32 {
		b, got := memory(to, n), 0
		if at < int64(len(o.file.data)) {
			got = copy(b, o.file.data[at:])
		}
		if got < len(b) {
			clear(b[got:])
			return lib.SQLITE_IOERR_SHORT_READ
		}
		return lib.SQLITE_OK
	})
}

func xWrite(_ *libc.TLS, p, from uintptr, n int32, at int64) int32 {
	return with(p, func(o *opened) int32 {
		b := memory(from, n)
		switch {
		case o.disk.readOnly:
			return lib.SQLITE_READONLY
		case o.disk.sulks(op{deed: wrote, file: o.file.number, at: at, data: b}):
			return lib.SQLITE_IOERR_WRITE
		case !o.disk.write(o.file, at, b):
			return lib.SQLITE_FULL
		}
		return lib.SQLITE_OK
	})
}

func xTruncate(_ *libc.TLS, p uintptr, to int64) int32 {
	return with(p, func(o *opened) int32 {
		if o.disk.readOnly || o.disk.sulks(op{deed: truncated, file: o.file.number, at: to}) {
			return lib.SQLITE_IOERR_TRUNCATE
		}
		o.disk.truncate(o.file, to)
		return lib.SQLITE_OK
	})
}

func xSync(_ *libc.TLS, p uintptr, _ int32) int32 {
	return with(p, func(o *opened) int32 {
		if o.disk.sulks(op{deed: synced, file: o.file.number}) {
			o.disk.log = append(o.disk.log, op{deed: notSync, file: o.file.number})
			return lib.SQLITE_IOERR_FSYNC
		}
		o.disk.sync(o.file)
		return lib.SQLITE_OK
	})
}

func xFileSize(_ *libc.TLS, p, size uintptr) int32 {
	return with(p, func(o *opened) int32 {
		put(size, int64(len(o.file.data)))
		return lib.SQLITE_OK
	})
}

func xCheckReservedLock(_ *libc.TLS, _, out uintptr) int32 {
	put(out, int32(0))
	return lib.SQLITE_OK
}

func xDelete(_ *libc.TLS, _, zName uintptr, names int32) int32 {
	return on(zName, lib.SQLITE_IOERR_DELETE, func(d *disk, name string) int32 {
		switch {
		case d.files[name] == nil:
			return lib.SQLITE_IOERR_DELETE_NOENT
		case d.readOnly || d.sulks(op{deed: deleted, name: name}):
			return lib.SQLITE_IOERR_DELETE
		}
		d.delete(name, names != 0)
		return lib.SQLITE_OK
	})
}

func xAccess(_ *libc.TLS, _, zName uintptr, flags int32, out uintptr) int32 {
	return on(zName, lib.SQLITE_IOERR_ACCESS, func(d *disk, name string) int32 {
		f := d.files[name]
		ok := f != nil && (flags != lib.SQLITE_ACCESS_READWRITE || !d.readOnly)
		if ok && flags == lib.SQLITE_ACCESS_EXISTS { // an empty journal is none, as in os_unix.c
			ok = len(f.data) > 0
		}
		put(out, map[bool]int32{true: 1}[ok])
		return lib.SQLITE_OK
	})
}

func xFullPathname(_ *libc.TLS, _, zName uintptr, n int32, to uintptr) int32 {
	name := libc.GoString(zName)
	if len(name)+1 > int(n) {
		return lib.SQLITE_CANTOPEN
	}
	b := memory(to, n)
	b[copy(b, name)] = 0
	return lib.SQLITE_OK
}

func xCurrentTime(_ *libc.TLS, _, to uintptr) int32 {
	const unixEpoch = 2440587.5 // in days, as SQLite counts (from memory)
	put(to, unixEpoch+float64(time.Now().UnixMilli())/86_400_000)
	return lib.SQLITE_OK
}
