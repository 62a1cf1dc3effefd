package sound

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

// Each bad input: one line that says what, where and what to do, soon.
func TestBadInput(t *testing.T) {
	dir := t.TempDir()
	put := func(name string, b []byte) string {
		path := filepath.Join(dir, name)
		writeFile(t, path, b)
		return path
	}
	random := make([]byte, 200000)
	for i, x := range noise(len(random), 0.3, 5) {
		random[i] = byte(toGrid(x))
	}
	tests := []struct{ path, says string }{
		{put("empty.wav", nil), "the file is empty"},
		{put("one.wav", []byte{7}), ""},
		{put("png.wav", []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")), "a PNG picture, not a sound"},
		{put("jpeg.flac", []byte("\xFF\xD8\xFF\xE0\x00\x10JFIF")), "a JPEG picture"},
		{put("webp.wav", []byte("RIFF\x00\x00\x00\x00WEBPVP8 ")), "a WebP picture"},
		{put("pdf.mp3", []byte("%PDF-1.7 ...")), "a PDF document"},
		{put("zip.wav", []byte("PK\x03\x04..........")), "a ZIP archive"},
		{put("text.wav", []byte("Dear customer,\nyour watch is ready.\n")), "this is text"},
		{put("csv.wav", []byte("position;rate\nCH;4\n")), "this is text"},
		{put("random.wav", random), ""},
		{put("zeros.wav", make([]byte, 300000)), ""},
		{put("head.flac", []byte("fLaC")), "ends inside its header"},
		{put("head.opus", fixture(t, "clicks.opus")[:60]), ""},
		{dir, "this is a folder"},
		{filepath.Join(dir, "none.wav"), "no such file"},
		{filepath.Join(dir, "empty.wav", "x"), ""},
		{strings.Repeat("x", 5000), ""},
		{"a\x00b", ""},
	}
	for _, tt := range tests {
		within(t, 5*time.Second, tt.path, func() {
			r, err := Open(context.Background(), tt.path)
			if err == nil {
				r.Close()
				t.Errorf("%s was taken as %s", tt.path, r.Format().Kind)
				return
			}
			checkOneLine(t, tt.path, err, tt.says)
		})
	}
}

func checkOneLine(t *testing.T, path string, err error, says string) {
	t.Helper()
	msg := err.Error()
	if !errors.Is(err, ErrUnreadable) || strings.ContainsAny(msg, "\n\r\x00") || !strings.Contains(msg, says) ||
		!strings.HasPrefix(msg, "read ") || !strings.Contains(msg, "; ") {
		t.Errorf("%.60q: error %q, want one line with %q", path, msg, says)
	}
}

func TestNotPermitted(t *testing.T) {
	if os.Getuid() == 0 || runtime.GOOS == "windows" {
		checkOneLine(t, "x", notOpened("x", &os.PathError{Op: "open", Path: "x", Err: os.ErrPermission}), "not permitted")
		return
	}
	path := filepath.Join(t.TempDir(), "a.wav")
	writeFile(t, path, wavBytes(t, nil, RawFormat{S16LE, 48000, 1}))
	if err := os.Chmod(path, 0); err != nil {
		t.Fatal(err)
	}
	_, err := Open(t.Context(), path)
	checkOneLine(t, path, err, "not permitted")
}

func mkfifo(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "fifo")
	if b, err := exec.Command(needTool(t, "mkfifo"), path).CombinedOutput(); err != nil {
		t.Skipf("mkfifo: %v: %s", err, b)
	}
	return path
}

func TestPipeNobodyWritesTo(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for a writer")
	}
	t.Parallel()
	path := mkfifo(t)
	within(t, 5*time.Second, "a pipe without a writer", func() {
		_, err := Open(context.Background(), path)
		checkOneLine(t, path, err, "nobody writes to")
	})
}

func TestPipeWithWriter(t *testing.T) {
	path := mkfifo(t)
	s := noise(48000, 0.1, 1)
	go func() {
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return
		}
		defer f.Close()
		w, err := NewFLACWriter(f, Format{Rate: 48000, Channels: 1})
		if err != nil {
			return
		}
		_ = w.Write(s)
		_ = w.Close()
	}()
	r, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "through a pipe", readAll(t, r), s)
}

// A pipe whose writer falls silent is left when asked.
func TestPipeCancelled(t *testing.T) {
	path := mkfifo(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return
		}
		_, _ = f.Write(wavBytes(t, noise(1000, 0.1, 1), RawFormat{S16LE, 48000, 1}))
		<-ctx.Done()
		time.AfterFunc(3*time.Second, func() { f.Close() })
	}()
	within(t, 2*time.Second, "cancelling", func() {
		r, err := Open(ctx, path)
		if err != nil {
			t.Error(err)
			return
		}
		defer r.Close()
		time.AfterFunc(100*time.Millisecond, cancel)
		buf := make([]float32, 4096)
		for err == nil {
			_, err = r.Read(buf)
		}
		if !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want context.Canceled", err)
		}
	})
}

// Memory does not grow with the length of the sound.
func TestFlatMemory(t *testing.T) {
	s := noise(1<<21, 0.05, 1)
	for name, b := range map[string][]byte{
		"WAV": wavBytes(t, s, RawFormat{S24LE, 48000, 1}), "FLAC": flacBytes(t, s, 48000, 1),
	} {
		buf := make([]float32, 8192)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		r := openBytes(t, b)
		d := NewDoor(r.Format())
		n, err := 0, error(nil)
		for err == nil {
			n, err = r.Read(buf)
			d.Push(buf[:n], func(Piece) {})
		}
		runtime.ReadMemStats(&after)
		if got := after.TotalAlloc - before.TotalAlloc; got > 2<<20 {
			t.Errorf("%s: %d bytes allocated for %d samples", name, got, len(s))
		}
	}
}

// failing gives some bytes, then an error.
type failing struct {
	r   io.Reader
	err error
}

func (f *failing) Read(b []byte) (int, error) {
	n, err := f.r.Read(b)
	if err == io.EOF {
		err = f.err
	}
	return n, err
}

func TestReadErrors(t *testing.T) {
	s := noise(60000, 0.1, 1)
	broken := errors.New("input/output\nerror")
	for name, b := range map[string][]byte{
		"WAV": wavBytes(t, s, RawFormat{S16LE, 48000, 1}), "FLAC": flacBytes(t, s, 48000, 1), "nothing": nil,
		"MP3": fixture(t, "clicks.mp3"), "Opus": fixture(t, "clicks.opus"),
	} {
		r, err := NewReader(t.Context(), "x", &failing{bytes.NewReader(b[:len(b)*2/3]), broken})
		buf := make([]float32, 4096)
		n, got := 0, 0
		for err == nil {
			n, err = r.Read(buf)
			got += n
		}
		if name != "MP3" && (!errors.Is(err, broken) || !errors.Is(err, ErrUnreadable)) {
			t.Errorf("%s: error %v", name, err)
		}
		if strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: error of two lines: %v", name, err)
		}
		if name != "nothing" && got == 0 {
			t.Errorf("%s: nothing read before the error", name)
		}
	}
}

func TestCancelAndClose(t *testing.T) {
	s := noise(60000, 0.1, 1)
	for name, b := range map[string][]byte{
		"WAV": wavBytes(t, s, RawFormat{S16LE, 48000, 1}), "FLAC": flacBytes(t, s, 48000, 1),
		"MP3": fixture(t, "clicks.mp3"), "Opus": fixture(t, "clicks.opus"),
	} {
		ctx, cancel := context.WithCancel(t.Context())
		buf := make([]float32, 1024)
		r, err := NewReader(ctx, name, bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		cancel()
		for err == nil {
			_, err = r.Read(buf)
		}
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: after cancelling: %v", name, err)
		}
		r = openBytes(t, b)
		if _, err := r.Read(buf[:0]); !errors.Is(err, io.ErrShortBuffer) {
			t.Errorf("%s: with no room: %v", name, err)
		}
		if err := r.Close(); err != nil {
			t.Errorf("%s: close: %v", name, err)
		}
		if n, err := r.Read(buf); n != 0 || err == nil || err == io.EOF {
			t.Errorf("%s: after close: %d, %v", name, n, err)
		}
	}
}

// Reading does not depend on the room given.
func TestReadInAnyPortions(t *testing.T) {
	s := noise(2*9000, 0.1, 1)
	for name, b := range map[string][]byte{
		"WAV": wavBytes(t, s, RawFormat{S24LE, 48000, 2}), "FLAC": flacBytes(t, s, 48000, 2),
		"MP3": fixture(t, "clicks-stereo.mp3"), "Opus": fixture(t, "clicks-stereo.opus"),
	} {
		want := readBytes(t, b)
		r := openBytes(t, b)
		var got []float32
		buf := make([]float32, 30000)
		for i := 0; ; i++ {
			n, err := r.Read(buf[:2+i*37%3001])
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, buf[:2*n]...)
		}
		same(t, name, got, want)
	}
}
