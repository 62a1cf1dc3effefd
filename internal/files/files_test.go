package files

import (
	"bytes"
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"beatwright"
)

// TestMain lets the test program be the other program that holds a folder.
func TestMain(m *testing.M) {
	if dir := os.Getenv("FILES_TEST_HOLD"); dir != "" {
		if _, err := Open(dir, Options{Address: "127.0.0.1:9"}); err != nil {
			os.Stdout.WriteString(err.Error())
			os.Exit(1)
		}
		os.Stdout.WriteString("held\n")
		io.Copy(io.Discard, os.Stdin) // until killed
		return
	}
	os.Exit(m.Run())
}

// TestOtherProcess: a second program is refused with the address of the
// first, may read beside it, and may write once the first was killed.
func TestOtherProcess(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "shop")
	stop := hold(t, dir)
	_, err := Open(dir, Options{})
	b, ok := errors.AsType[*BusyError](err)
	if !ok || b.Holder.Address != "127.0.0.1:9" || b.Holder.Process == 0 || beatwright.CodeOf(err) != beatwright.Busy {
		t.Fatalf("open while another has it: %v, want Busy with its address", err)
	}
	if !strings.Contains(err.Error(), "127.0.0.1:9") {
		t.Errorf("the words %q do not give the address", err)
	}
	if h, err := Writer(dir, nil); err != nil || h == nil || h.Address != "127.0.0.1:9" {
		t.Errorf("writer: %v %v, want the address", h, err)
	}
	r, err := Open(dir, Options{ReadOnly: true})
	if err != nil {
		t.Fatalf("read beside it: %v", err)
	}
	if _, err := r.Put(JPEG, strings.NewReader("x"), 10); !errors.Is(err, ErrReadOnly) {
		t.Errorf("put in a folder open for reading: %v", err)
	}
	stop()
	if h, err := Writer(dir, nil); err != nil || h != nil {
		t.Errorf("writer after it was killed: %v %v, want none", h, err)
	}
	f, err := Open(dir, Options{})
	if err != nil {
		t.Fatalf("open after it was killed: %v", err)
	}
	if err := f.Close(); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(filepath.Join(dir, holderName)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s after closing: %v, want it gone", holderName, err)
	}
}

// hold starts a program that holds dir; stop kills it.
func hold(t *testing.T, dir string) (stop func()) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(self)
	c.Env = append(os.Environ(), "FILES_TEST_HOLD="+dir)
	in, _ := c.StdinPipe()
	out, _ := c.StdoutPipe()
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	stop = func() { c.Process.Kill(); c.Wait(); in.Close() }
	t.Cleanup(stop)
	b := make([]byte, 200)
	if n, _ := out.Read(b); string(b[:n]) != "held\n" {
		t.Fatalf("the other program says %q", b[:n])
	}
	return stop
}

// TestKeep goes through an ordinary day on a real disk.
func TestKeep(t *testing.T) {
	f, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n, err := f.Put(JPEG, strings.NewReader("abc"), 3)
	// The sum is FIPS 180-4's example "abc", as NIST publishes it (from memory).
	const want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad.jpg"
	if err != nil || n != want {
		t.Fatalf("put: %s %v, want %s", n, err, want)
	}
	if again, err := f.Put(JPEG, strings.NewReader("abc"), 3); err != nil || again != n {
		t.Errorf("put again: %s %v", again, err)
	}
	if b, err := readAll(f.Open(n)); string(b) != "abc" || err != nil {
		t.Errorf("read %q %v", b, err)
	}
	path, _ := f.Path(n)
	if rel, _ := filepath.Rel(f.Dir(), path); filepath.ToSlash(rel) != "pictures/ba/"+want {
		t.Errorf("it lies at %s", rel)
	}
	if s, err := f.Stat(n); err != nil || s.Size() != 3 {
		t.Errorf("stat %v %v", s, err)
	}
	if _, err := f.Put(FLAC, strings.NewReader("abcd"), 3); !errors.Is(err, ErrTooLarge) || beatwright.CodeOf(err) != beatwright.Wrong {
		t.Errorf("put of 4 bytes where 3 are allowed: %v", err)
	}
	if _, err := f.Put("exe", strings.NewReader("abcd"), 9); err == nil {
		t.Error("a program was kept")
	}
	if left := parts(t, OSDisk{}, f.Dir()); left > 0 {
		t.Errorf("%d parts left behind", left)
	}
	if len(f.active) > 0 {
		t.Errorf("still being written: %v", f.active)
	}
	if free, err := f.Free(); err != nil || free < 1<<20 {
		t.Errorf("free: %d %v", free, err)
	}
}

func TestCopies(t *testing.T) {
	f, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n, _ := f.Put(PNG, strings.NewReader("picture"), 99)
	sound, _ := f.Put(FLAC, strings.NewReader("sound"), 99)
	if _, err := f.OpenCopy(n, 320); !errors.Is(err, ErrNotThere) {
		t.Errorf("copy before it is made: %v", err)
	}
	oops := errors.New("cannot shrink")
	if err := f.PutCopy(n, 320, func(w io.Writer) error { w.Write([]byte("half")); return oops }); err != oops {
		t.Errorf("failing copy: %v", err)
	}
	if _, err := f.OpenCopy(n, 320); !errors.Is(err, ErrNotThere) {
		t.Errorf("copy after it failed: %v", err)
	}
	put := func(w io.Writer) error { _, err := w.Write([]byte("small")); return err }
	if err := f.PutCopy(n, 320, put); err != nil {
		t.Fatal(err)
	}
	if b, err := readAll(f.OpenCopy(n, 320)); string(b) != "small" || err != nil {
		t.Errorf("copy: %q %v", b, err)
	}
	if f.PutCopy(sound, 320, put) == nil || f.PutCopy(n, 0, put) == nil || f.PutCopy("../x.jpg", 320, put) == nil {
		t.Error("a copy of sound, of no width or of a path was kept")
	}
	if err := f.Remove(n); err != nil {
		t.Fatal(err)
	}
	if _, err := f.OpenCopy(n, 320); !errors.Is(err, ErrNotThere) {
		t.Errorf("copy after its picture went: %v", err)
	}
	if err := f.Remove(n); !errors.Is(err, ErrNotThere) {
		t.Errorf("remove again: %v", err)
	}
}

func TestVerify(t *testing.T) {
	f, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	put := func(k Kind, s string) Name {
		n, err := f.Put(k, strings.NewReader(s), 99)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	good, spare, bad, gone := put(JPEG, "good"), put(FLAC, "spare"), put(PNG, "bad"), put(WAV, "gone")
	path, _ := f.Path(bad)
	if err := os.WriteFile(path, []byte("bae"), 0o600); err != nil {
		t.Fatal(err)
	}
	path, _ = f.Path(gone)
	os.Remove(path)
	os.WriteFile(filepath.Join(f.Dir(), soundDir, "notes.txt"), nil, 0o600)
	os.Mkdir(filepath.Join(f.Dir(), soundDir, "zz"), 0o700)
	os.WriteFile(filepath.Join(f.Dir(), soundDir, "zz", string(spare)), []byte("spare"), 0o600)

	r, err := f.Verify(context.Background(), []Name{good, bad, gone, gone})
	if err != nil {
		t.Fatal(err)
	}
	if r.OK() || r.Good != 2 || !slices.Equal(r.Changed, []Name{bad}) || !slices.Equal(r.Missing, []Name{gone}) ||
		!slices.Equal(r.Unreferenced, []Name{spare}) || len(r.Unreadable) > 0 ||
		!slices.Equal(r.Strange, []string{"sound/notes.txt", "sound/zz/" + string(spare)}) {
		t.Errorf("got %+v", r)
	}
	if n, err := f.Put(PNG, strings.NewReader("bad"), 99); n != bad || err != nil {
		t.Fatal(n, err)
	}
	if r, _ = f.Verify(context.Background(), []Name{good, bad, spare}); !r.OK() || len(r.Changed) > 0 {
		t.Errorf("after it was put again: %+v, want it mended", r)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := f.Verify(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("verify when stopped: %v", err)
	}
}

func TestSweep(t *testing.T) {
	now := time.Now()
	f, err := Open(t.TempDir(), Options{Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := filepath.Join(f.Dir(), incomingDir)
	for name, age := range map[string]time.Duration{
		"put-OLD.part": 2 * time.Hour, "put-NEW.part": 0, "mine.txt": 2 * time.Hour, "grown.flac": 2 * time.Hour,
	} {
		path := filepath.Join(in, name)
		os.WriteFile(path, []byte("x"), 0o600)
		os.Chtimes(path, now.Add(-age), now.Add(-age))
	}
	n, _ := f.Put(GIF, strings.NewReader("picture"), 99)
	small := func(w io.Writer) error { _, err := w.Write([]byte("small")); return err }
	f.PutCopy(n, 320, small)
	gone := Name(strings.Repeat("0", hexLen) + ".png")
	f.PutCopy(gone, 320, small)
	f.PutCopy(gone, 1600, small)

	got, err := f.Sweep(time.Hour)
	if want := (Swept{Parts: 1, Copies: 2}); err != nil || got != want {
		t.Errorf("swept %+v %v, want %+v", got, err, want)
	}
	var left []string
	list, _ := os.ReadDir(in)
	for _, e := range list {
		left = append(left, e.Name())
	}
	if !slices.Equal(left, []string{"grown.flac", "mine.txt", "put-NEW.part"}) {
		t.Errorf("left: %v", left)
	}
	if _, err := readAll(f.OpenCopy(n, 320)); err != nil {
		t.Errorf("copy of a picture that is there: %v", err)
	}
}

// TestSweepSpares what is being written by this process, however old.
func TestSweepSpares(t *testing.T) {
	late := time.Now().Add(time.Hour)
	f, err := Open(t.TempDir(), Options{Now: func() time.Time { return late }})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	_, err = f.Put(JPEG, io.MultiReader(strings.NewReader("a"), during(func() {
		if s, err := f.Sweep(0); err != nil || s.Parts > 0 {
			t.Errorf("swept %+v %v while a file came in", s, err)
		}
	})), 9)
	if err != nil {
		t.Error(err)
	}
}

// during does something in the middle of reading.
type during func()

func (d during) Read([]byte) (int, error) { d(); return 0, io.EOF }

func TestOpenReadOnlyNowhere(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(dir, Options{ReadOnly: true}); beatwright.CodeOf(err) != beatwright.Missing {
		t.Errorf("open an empty directory for reading: %v, want Missing", err)
	}
	if list, _ := os.ReadDir(dir); len(list) > 0 {
		t.Errorf("it made %v", list)
	}
	if h, err := Writer(dir, nil); h != nil || err != nil {
		t.Errorf("writer of an empty directory: %v %v", h, err)
	}
}

func TestGrowing(t *testing.T) {
	f, err := Open(t.TempDir(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, id := range []string{"", "..", "a/b", "a.b", "A", strings.Repeat("a", 65)} {
		if _, err := f.Incoming(id); !errors.Is(err, ErrName) {
			t.Errorf("begin sound %q: %v, want ErrName", id, err)
		}
	}
	g, err := f.Incoming("one")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Incoming("one"); !errors.Is(err, fs.ErrExist) {
		t.Errorf("begin it twice: %v", err)
	}
	write(t, g, 100)
	if g.Mark(Mark{Sample: 3}) == nil || g.Mark(Mark{Sample: -1, Kind: "gap"}) == nil {
		t.Error("a mark without kind or with a negative sample was taken")
	}
	g.Mark(Mark{Sample: 3, Kind: "gap", Text: "40 ms\nlost"})
	if f.Forget("one") == nil {
		t.Error("growing sound was forgotten")
	}
	n, err := g.Finish(7)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := g.Write([]byte("x")); !errors.Is(err, fs.ErrClosed) {
		t.Errorf("write after finish: %v", err)
	}
	list, err := f.Salvage()
	if err != nil || len(list) != 1 || list[0].Name != n || list[0].Durable != 7 ||
		!slices.Equal(list[0].Marks, []Mark{{3, "gap", "40 ms\nlost"}}) || list[0].Begun.IsZero() {
		t.Errorf("before the record knows: %+v %v", list, err)
	}
	for range 2 {
		if err := f.Forget("one"); err != nil {
			t.Error(err)
		}
	}
	if list, err = f.Salvage(); err != nil || len(list) > 0 {
		t.Errorf("after: %+v %v", list, err)
	}
	if b, err := readAll(f.Open(n)); err != nil || !bytes.Equal(b, content(3, 100)) {
		t.Errorf("the sound: %d bytes, %v", len(b), err)
	}
}

// FuzzMarks: no sidecar, however broken, stops the salvage of its sound.
func FuzzMarks(f *testing.F) {
	f.Add([]byte(`{"begun":"2026-01-02T03:04:05Z"}` + "\n" + `{"sample":1,"kind":"gap"}` + "\n" + `{"durable":{"samples":9,"bytes":90}}` + "\n"))
	f.Add([]byte(`{"finished":"../../x.flac"}` + "\n\x00\x00\n" + `{"forgotten":false}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		d := NewFaultDisk(1)
		folder := open(t, d)
		for name, b := range map[string][]byte{"a" + soundEnd: []byte("sound"), "a" + marksEnd: b} {
			w, err := d.Create(filepath.Join(shop, incomingDir, name))
			if err != nil {
				t.Fatal(err)
			}
			w.Write(b)
		}
		list, err := folder.Salvage()
		if err != nil {
			t.Fatal(err)
		}
		may := bytes.ContainsAny(b, `\\`) || bytes.Contains(bytes.ToLower(b), []byte("forgotten"))
		if len(list) == 0 && !may {
			t.Error("the sound was not salvaged")
		}
		if err := folder.Forget("a"); err != nil {
			t.Error(err)
		}
	})
}

// TestNames: only what this package makes is a name, and none leads out of
// the folder.
func TestNames(t *testing.T) {
	hex := strings.Repeat("0a", 32)
	for _, s := range []string{
		"", ".", hex, hex + ".", hex + ".exe", hex + ".JPG", strings.ToUpper(hex) + ".jpg", hex + "0.jpg", hex[1:] + ".jpg",
		"../" + hex[3:] + ".jpg", hex + ".jpg/..", hex + ".jpg\x00", "/" + hex[1:] + ".jpg", hex + ".jpg ", `C:\` + hex[3:] + ".jpg",
	} {
		if n, err := ParseName(s); !errors.Is(err, ErrName) || n != "" {
			t.Errorf("%q: %q %v, want ErrName", s, n, err)
		}
	}
	for k, place := range places {
		n, err := ParseName(hex + "." + string(k))
		if err != nil || n.Kind() != k || n.IsPicture() != (place == pictureDir) {
			t.Errorf("%s: %q %v", k, n, err)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.StringMatching(`[0-9a-f./\\]{60,70}\.(jpg|flac|x)?`)).Draw(t, "name")
		n, err := ParseName(s)
		if err != nil {
			return
		}
		if string(n) != s || !filepath.IsLocal(n.rel()) || filepath.Base(n.rel()) != s {
			t.Fatalf("%q lies at %q", s, n.rel())
		}
	})
}
