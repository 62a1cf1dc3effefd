package files

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

const shop = "/bench/shop"

// kept is what calls acknowledged.
type kept struct {
	files   map[Name][]byte
	copies  map[Name][]byte
	address []string // told to SetAddress, the last perhaps not acknowledged
	said    bool     // that last one was
	grown   map[string]*grown
	folder  *Folder
}

// grown is what was acknowledged of a growing sound.
type grown struct {
	sound    []byte // all that was written, and how the header becomes
	durable  int64
	bytes    int64
	marks    []Mark
	finished Name
	forgot   bool // Forget was called
	done     bool // and came back
}

func newKept() *kept {
	return &kept{files: map[Name][]byte{}, copies: map[Name][]byte{}, grown: map[string]*grown{}}
}

// content makes bytes that tell where they are from.
func content(seed uint64, n int) []byte {
	rnd := rand.New(rand.NewPCG(seed, 7))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(1 + rnd.IntN(255)) // never zero: that is what is lost
	}
	return b
}

// scenario is a day at the bench, as far as files go. It ends at the first
// error.
func scenario(d Disk, k *kept) error {
	k.address = append(k.address, "")
	f, err := Open(shop, Options{Disk: d})
	if err != nil {
		return err
	}
	k.said, k.folder = true, f
	for i, n := range []int{3000, 10, 1500} {
		if err := k.put(f, []Kind{JPEG, FLAC, PNG}[i], content(uint64(i), n)); err != nil {
			return err
		}
	}
	for _, a := range []string{"127.0.0.1:8425", "127.0.0.1:8426"} {
		k.address, k.said = append(k.address, a), false
		if err := f.SetAddress(a); err != nil {
			return err
		}
		k.said = true
	}
	if err := k.put(f, JPEG, content(0, 3000)); err != nil { // the same again
		return err
	}
	for _, id := range []string{"first", "second"} {
		if err := k.grow(f, id); err != nil {
			return err
		}
	}
	return k.copy(f)
}

func (k *kept) put(f *Folder, kind Kind, b []byte) error {
	n, err := f.Put(kind, bytes.NewReader(b), 1<<20)
	if err == nil {
		k.files[n] = b
	}
	return err
}

func (k *kept) copy(f *Folder) error {
	for _, n := range slices.Sorted(maps.Keys(k.files)) {
		if !n.IsPicture() {
			continue
		}
		b := content(99, 900)
		if err := f.PutCopy(n, 320, func(w io.Writer) error { _, err := w.Write(b); return err }); err != nil {
			return err
		}
		k.copies[n] = b
	}
	return nil
}

// grow listens for three seconds, completes the header and finishes; "first"
// is forgotten too, as after the record took note.
func (k *kept) grow(f *Folder, id string) error {
	s := &grown{}
	g, err := f.Incoming(id)
	if err != nil {
		return err
	}
	k.grown[id] = s
	for second := range 3 {
		b := content(uint64(len(id)*10+second), 700)
		s.sound = append(s.sound, b...)
		if _, err := g.Write(b); err != nil {
			return err
		}
		m := Mark{Sample: int64(100 * second), Kind: "position", Text: "dial up"}
		if err := g.Mark(m); err != nil {
			return err
		}
		if err := g.Sync(int64(100 * (second + 1))); err != nil {
			return err
		}
		s.durable, s.bytes = g.Durable(), int64(len(s.sound))
		s.marks = append(s.marks, m)
	}
	return k.finish(f, g, s)
}

func (k *kept) finish(f *Folder, g *Growing, s *grown) error {
	head := content(5, 40)
	if _, err := g.Seek(0, io.SeekStart); err != nil {
		return err
	}
	whole := slices.Clone(s.sound)
	copy(whole, head)
	s.sound = append(s.sound, whole...) // either, until it is acknowledged
	if _, err := g.Write(head); err != nil {
		return err
	}
	n, err := g.Finish(300)
	if err != nil {
		return err
	}
	s.finished, k.files[n] = n, whole
	if g.ID() != "first" {
		return nil
	}
	s.forgot = true
	if err := f.Forget(g.ID()); err != nil {
		return err
	}
	s.done = true
	return nil
}

// wrong tells in what the folder on d falls short of what was acknowledged.
func (k *kept) wrong(d Disk) error {
	f, err := Open(shop, Options{Disk: d})
	if err != nil {
		return fmt.Errorf("open again: %w", err)
	}
	defer f.Close()
	r, err := f.Verify(context.Background(), slices.Collect(maps.Keys(k.files)))
	if err != nil || !r.OK() || len(r.Strange) > 0 {
		return fmt.Errorf("verify: %v %+v", err, r)
	}
	for n, want := range k.files {
		if got, err := readAll(f.Open(n)); err != nil || !bytes.Equal(got, want) {
			return fmt.Errorf("%s: %v, %d bytes, want %d", n, err, len(got), len(want))
		}
	}
	for n := range k.files {
		if !n.IsPicture() {
			continue
		}
		got, err := readAll(f.OpenCopy(n, 320))
		if errors.Is(err, ErrNotThere) && k.copies[n] == nil {
			continue
		}
		if err != nil || !bytes.Equal(got, content(99, 900)) {
			return fmt.Errorf("copy of %s: %v, %d bytes", n, err, len(got))
		}
	}
	return k.wrongGrown(f)
}

// wrongHolder tells whether bench.json is not one that was acknowledged last
// or was being written, whole.
func (k *kept) wrongHolder(d Disk) error {
	may := k.address
	if n := len(may); k.said {
		may = may[n-1:]
	} else if n > 1 {
		may = may[n-2:]
	}
	b, err := readAll(d.Open(filepath.Join(shop, holderName)))
	if errors.Is(err, fs.ErrNotExist) && !k.said && len(k.address) < 2 {
		return nil
	}
	var h Holder
	if err == nil {
		err = json.Unmarshal(b, &h)
	}
	if err != nil || !slices.Contains(may, h.Address) {
		return fmt.Errorf("%s: %q, %v, want one of %q", holderName, b, err, may)
	}
	return nil
}

func readAll(r File, err error) ([]byte, error) {
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(r)
}

func (k *kept) wrongGrown(f *Folder) error {
	list, err := f.Salvage()
	if err != nil {
		return err
	}
	found := map[string]Unfinished{}
	for _, u := range list {
		found[u.ID] = u
	}
	for id, s := range k.grown {
		u, there := found[id]
		if err := s.wrong(f, u, there); err != nil {
			return fmt.Errorf("sound %s: %w: %+v", id, err, u)
		}
	}
	return nil
}

func (s *grown) wrong(f *Folder, u Unfinished, there bool) error {
	switch {
	case s.done && there:
		return errors.New("forgotten, and salvaged")
	case s.forgot:
		return nil // it may be there or not; the file itself is in k.files
	case !there:
		return errors.New("lost")
	case s.finished != "" && u.Name != s.finished:
		return fmt.Errorf("finished as %s", s.finished)
	case u.Durable < s.durable:
		return fmt.Errorf("durable up to %d was acknowledged", s.durable)
	case len(u.Marks) < len(s.marks) || !slices.Equal(u.Marks[:len(s.marks)], s.marks):
		return fmt.Errorf("marks %v were acknowledged", s.marks)
	case u.Name != "":
		return nil // whole, as Verify saw
	}
	b, err := readAll(f.disk.Open(u.Path))
	if err != nil || int64(len(b)) < u.Bytes || u.Bytes < s.bytes {
		return fmt.Errorf("%d bytes, %v, %d were acknowledged", len(b), err, s.bytes)
	}
	// The header may be the old or the new one; both stand in s.sound.
	old, new := s.sound[:s.bytes], s.sound[len(s.sound)-int(s.bytes):]
	if b = b[:s.bytes]; !bytes.Equal(b, old) && !bytes.Equal(b, new) {
		return errors.New("sound that was acknowledged is not the same")
	}
	return nil
}

// recover does what a program does at its start.
func (k *kept) recover(d Disk) error {
	f, err := Open(shop, Options{Disk: d})
	if err != nil {
		return err
	}
	defer f.Close()
	if _, err := f.Sweep(0); err != nil {
		return err
	}
	list, err := f.Salvage()
	if err != nil {
		return err
	}
	for _, u := range list {
		if err := k.save(f, u); err != nil {
			return err
		}
	}
	return nil
}

// save puts what was salvaged under its name, as the record would note it,
// and forgets it.
func (k *kept) save(f *Folder, u Unfinished) error {
	s := k.grown[u.ID]
	if s == nil { // Incoming did not come back
		return f.Forget(u.ID)
	}
	if u.Name == "" {
		b, err := readAll(f.disk.Open(u.Path))
		if err != nil || int64(len(b)) < u.Bytes {
			return fmt.Errorf("salvage %s: %d bytes of %d, %w", u.ID, len(b), u.Bytes, err)
		}
		if err := k.put(f, FLAC, b[:u.Bytes]); err != nil {
			return err
		}
	}
	s.forgot = true
	return f.Forget(u.ID)
}

// crashRun crashes at operation at, starts again, crashes at operation again of
// that (0: not), and tells what is wrong then.
func crashRun(wrap func(*FaultDisk) Disk, seed uint64, at, again int) error {
	k := newKept()
	d := NewFaultDisk(seed)
	d.CrashAt = at
	if err := scenario(wrap(d), k); !errors.Is(err, ErrCrashed) && at > 0 {
		return fmt.Errorf("no crash: %w", err)
	}
	d = d.Reboot()
	if err := errors.Join(k.wrongHolder(d), k.wrong(wrap(d))); err != nil {
		return err
	}
	d = d.Reboot()
	d.CrashAt = again
	if err := k.recover(wrap(d)); err != nil && !errors.Is(err, ErrCrashed) {
		return fmt.Errorf("start again: %w", err)
	}
	d = d.Reboot()
	if err := k.wrong(wrap(d)); err != nil {
		return fmt.Errorf("after a second crash: %w", err)
	}
	if err := k.recover(wrap(d)); err != nil {
		return fmt.Errorf("start a third time: %w", err)
	}
	return litter(d)
}

// litter finds what should not be left in incoming.
func litter(d *FaultDisk) error {
	list, err := d.ReadDir(filepath.Join(shop, incomingDir))
	if err != nil || len(list) > 0 {
		return fmt.Errorf("left in %s: %v %v", incomingDir, list, err)
	}
	return nil
}

func plain(d *FaultDisk) Disk { return d }

// operations is how many a whole scenario takes.
func operations(t *testing.T) int {
	t.Helper()
	d := NewFaultDisk(1)
	if err := scenario(d, newKept()); err != nil {
		t.Fatal(err)
	}
	return len(d.Operations())
}

func seedsOf() int {
	if testing.Short() {
		return 2
	}
	return 12
}

// TestCrashAnywhere crashes before each operation of the scenario, with
// several chances of what is lost, and once more while starting again.
func TestCrashAnywhere(t *testing.T) {
	n := operations(t)
	if n < 50 {
		t.Fatalf("%d operations; the scenario is too small to prove anything", n)
	}
	runs := 0
	for at := 1; at <= n; at++ {
		for seed := range seedsOf() {
			again := []int{0, 1 + (at+7*seed)%40}[seed%2]
			if err := crashRun(plain, uint64(seed), at, again); err != nil {
				t.Errorf("crash at operation %d (then %d), seed %d: %v", at, again, seed, err)
			}
			runs++
		}
	}
	t.Logf("%d operations, %d runs", n, runs)
}

// careless leaves out one kind of syncing.
type careless struct {
	*FaultDisk
	file, dir bool
	only      string // directory whose syncing is left out
}

func (c careless) SyncDir(path string) error {
	if c.dir && strings.HasSuffix(filepath.ToSlash(path), c.only) {
		return nil
	}
	return c.FaultDisk.SyncDir(path)
}

func (c careless) Create(path string) (File, error) {
	f, err := c.FaultDisk.Create(path)
	if err == nil && c.file && strings.HasSuffix(path, c.only) {
		f = unsynced{f}
	}
	return f, err
}

type unsynced struct{ File }

func (unsynced) Sync() error { return nil }

// TestCrashTestSees: with any one kind of syncing left out, the crashes above
// do find the loss.
func TestCrashTestSees(t *testing.T) {
	n := operations(t)
	for name, c := range map[string]careless{
		"new files":           {file: true, only: partEnd},
		"growing sound":       {file: true, only: soundEnd},
		"marks":               {file: true, only: marksEnd},
		"folder's parent":     {dir: true, only: "/bench"},
		"folder":              {dir: true, only: "/shop"},
		"sound's directories": {dir: true, only: "/" + soundDir},
		"incoming":            {dir: true, only: "/" + incomingDir},
		"every directory":     {dir: true},
	} {
		found := 0
		for at := 1; at <= n; at++ {
			for seed := range uint64(4) {
				wrap := func(d *FaultDisk) Disk { c := c; c.FaultDisk = d; return c }
				if crashRun(wrap, seed, at, 0) != nil {
					found++
				}
			}
		}
		if found == 0 {
			t.Errorf("syncing of %s left out, and no crash of %d lost anything", name, 4*n)
		}
	}
}
