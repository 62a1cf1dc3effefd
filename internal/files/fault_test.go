package files

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"beatwright"
)

// parts counts files on their way in that were left behind.
func parts(t *testing.T, d Disk, dir string) (n int) {
	t.Helper()
	list, err := d.ReadDir(filepath.Join(dir, incomingDir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	for _, e := range list {
		if strings.HasSuffix(e.Name(), partEnd) {
			n++
		}
	}
	return n
}

// afterFault checks an error for its words and kind, and that what was
// acknowledged is there, at once and after a crash.
func afterFault(t *testing.T, d *FaultDisk, k *kept, err, kind error) error {
	t.Helper()
	e, ok := errors.AsType[*beatwright.Error](err)
	if !ok || e.Code != beatwright.Storage || !errors.Is(err, kind) || !strings.Contains(e.Text, "is kept") || e.Do == "" {
		return fmt.Errorf("the error is %#v, want %v with words for a person", err, kind)
	}
	if n := parts(t, d, shop); n > 0 && kind != ErrReadOnly { // there nothing can be taken away
		return fmt.Errorf("%d parts left behind", n)
	}
	if k.folder != nil {
		k.folder.Close()
	}
	if err := k.wrong(d); err != nil {
		return err
	}
	d = d.Reboot()
	if err := k.wrong(d); err != nil {
		return fmt.Errorf("after a crash: %w", err)
	}
	return nil
}

// TestDiskFull: wherever the disk is full, it is said, what was acknowledged
// is kept, and with room again all goes on.
func TestDiskFull(t *testing.T) {
	for room := int64(0); ; room += 61 {
		d, k := NewFaultDisk(uint64(room)), newKept()
		d.Room = room
		err := scenario(d, k)
		if err == nil {
			if room < 10_000 {
				t.Errorf("the scenario fits into %d bytes, which proves little", room)
			}
			return
		}
		d.Room = 1 << 30
		if err := afterFault(t, d, k, err, ErrFull); err != nil {
			t.Errorf("room for %d bytes: %v", room, err)
		}
	}
}

// TestFailingDisk: one operation fails, each in turn.
func TestFailingDisk(t *testing.T) {
	for at := 1; at <= operations(t); at++ {
		d, k := NewFaultDisk(uint64(at)), newKept()
		d.FailAt = at
		err := scenario(d, k)
		if err := afterFault(t, d, k, err, ErrDisk); err != nil {
			t.Errorf("operation %d (%s) fails: %v", at, d.Operations()[at-1], err)
		}
	}
}

// TestReadOnlyDisk: the disk turns read-only, as Linux does to one that fails.
func TestReadOnlyDisk(t *testing.T) {
	n := operations(t)
	for at := 1; at <= n; at++ {
		d, k := NewFaultDisk(uint64(at)), newKept()
		d.ReadOnlyAt = at
		err := scenario(d, k)
		d.ReadOnlyAt = 0
		if err := afterFault(t, d, k, err, ErrReadOnly); err != nil {
			t.Errorf("read-only from operation %d: %v", at, err)
		}
	}
}

// TestGrowingIsFullAndGoesOn: sound that met a full disk takes nothing more,
// is salvaged in the same process, and the next one works.
func TestGrowingIsFullAndGoesOn(t *testing.T) {
	d := NewFaultDisk(1)
	f := open(t, d)
	g, err := f.Incoming("a")
	if err != nil {
		t.Fatal(err)
	}
	write(t, g, 1000)
	if err := g.Sync(10); err != nil {
		t.Fatal(err)
	}
	d.Room = 0
	_, err = g.Write(content(1, 500))
	if !errors.Is(err, ErrFull) {
		t.Fatalf("write to a full disk: %v, want ErrFull", err)
	}
	d.Room = 1 << 20
	if err := g.Sync(15); !errors.Is(err, ErrFull) || g.Durable() != 10 {
		t.Errorf("sync after that: %v and %d samples, want the same error and the 10 acknowledged", err, g.Durable())
	}
	if list, err := f.Salvage(); err != nil || len(list) > 0 {
		t.Errorf("salvage while it is open: %v %v, want nothing", list, err)
	}
	g.Close()
	list, err := f.Salvage()
	if err != nil || len(list) != 1 || list[0].Durable != 10 || list[0].Bytes != 1000 {
		t.Errorf("salvage: %+v %v, want the 10 samples", list, err)
	}
	if g, err = f.Incoming("b"); err != nil {
		t.Fatal(err)
	}
	write(t, g, 10)
	if _, err := g.Finish(1); err != nil {
		t.Errorf("finish with room again: %v", err)
	}
}

// TestReaderFails: an upload that breaks off leaves nothing, and its own
// error comes back.
func TestReaderFails(t *testing.T) {
	d := NewFaultDisk(1)
	f := open(t, d)
	broken := errors.New("the browser went away")
	_, err := f.Put(JPEG, io.MultiReader(bytes.NewReader(content(1, 5000)), failing{broken}), 1<<20)
	if !errors.Is(err, broken) || errors.Is(err, ErrDisk) {
		t.Errorf("got %v, want the reader's error", err)
	}
	if n := parts(t, d, shop); n > 0 {
		t.Errorf("%d parts left", n)
	}
}

type failing struct{ err error }

func (f failing) Read([]byte) (int, error) { return 0, f.err }

func open(t *testing.T, d Disk) *Folder {
	t.Helper()
	f, err := Open(shop, Options{Disk: d})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func write(t *testing.T, g *Growing, n int) {
	t.Helper()
	if _, err := g.Write(content(3, n)); err != nil {
		t.Fatal(err)
	}
}
