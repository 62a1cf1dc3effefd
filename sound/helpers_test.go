package sound

import (
	"bytes"
	"context"
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// failer is what testing.T and rapid.T have in common here.
type failer interface {
	Helper()
	Fatalf(string, ...any)
}

// readAll reads r to its end and closes it.
func readAll(t testing.TB, r Reader) []float32 {
	t.Helper()
	defer r.Close()
	ch := r.Format().Channels
	buf := make([]float32, 3000*ch+ch-1)
	var out []float32
	for {
		n, err := r.Read(buf)
		if err != nil {
			if n != 0 {
				t.Fatalf("%d frames together with %v", n, err)
			}
			if err == io.EOF {
				return out
			}
			t.Fatal(err)
		}
		if n < 1 || n > 3000 {
			t.Fatalf("got %d frames without an error", n)
		}
		out = append(out, buf[:n*ch]...)
	}
}

func openBytes(t testing.TB, b []byte) Reader {
	t.Helper()
	r, err := NewReader(t.Context(), "test", bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func readBytes(t testing.TB, b []byte) []float32 {
	t.Helper()
	return readAll(t, openBytes(t, b))
}

// onGrid says whether v is a whole multiple of 2⁻²³ in [−1, 1−2⁻²³].
func onGrid(v float32) bool {
	y := float64(v) * (1 << 23)
	return y == math.Trunc(y) && y >= -(1<<23) && y <= 1<<23-1
}

// noise gives n samples of rms amp, on the grid.
func noise(n int, amp float64, seed uint64) []float32 {
	rnd := rand.New(rand.NewPCG(seed, 1))
	s := make([]float32, n)
	for i := range s {
		s[i] = float32(rnd.NormFloat64() * amp)
	}
	var a amiss
	a.quantise(s, s)
	return s
}

// Clicks of the invented train: every 125 ms, the first at 50 ms.
const (
	clickFirst = 0.050
	clickEvery = 0.125
)

// clickTrain is decaying 4 kHz bursts in faint noise.
func clickTrain(rate int, seconds float64) []float32 {
	s := noise(int(seconds*float64(rate)), 0.0005, 3)
	for at := clickFirst; at < seconds-0.02; at += clickEvery {
		for i := int(math.Ceil(at * float64(rate))); i < int((at+0.015)*float64(rate)); i++ {
			t := float64(i)/float64(rate) - at
			s[i] += float32(0.5 * math.Exp(-t/0.002) * math.Sin(2*math.Pi*4000*t))
		}
	}
	var a amiss
	a.quantise(s, s)
	return s
}

func same(t *testing.T, what string, got, want []float32) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s: got %d samples, want %d", what, len(got), len(want))
	}
	for i := range got {
		if math.Float32bits(got[i]) != math.Float32bits(want[i]) {
			t.Fatalf("%s: sample %d is %v, want %v", what, i, got[i], want[i])
		}
	}
}

// needTool skips where an outside program is not installed.
func needTool(t testing.TB, name string) string {
	t.Helper()
	bin, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s is not installed: nothing to compare with", name)
	}
	return bin
}

// ffmpegMakes lets ffmpeg convert a WAV of s by args and gives the file.
func ffmpegMakes(t testing.TB, s []float32, rate, channels int, name string, args ...string) string {
	t.Helper()
	bin := needTool(t, "ffmpeg")
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, name)
	writeFile(t, in, wavBytes(t, s, RawFormat{F32LE, hz(rate), channels}))
	cmd := exec.CommandContext(t.Context(), bin, append(append([]string{"-v", "error", "-nostdin", "-i", in}, args...), out)...)
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("ffmpeg %v: %v: %s", args, err, b)
	}
	return out
}

// ffmpegReads lets ffmpeg decode a file to float; args go before the input.
func ffmpegReads(t testing.TB, path string, args ...string) []float32 {
	t.Helper()
	bin := needTool(t, "ffmpeg")
	args = append([]string{"-v", "error", "-nostdin", "-xerror"}, args...)
	args = append(args, "-i", path, "-f", "f32le", "-")
	cmd := exec.CommandContext(t.Context(), bin, args...)
	var msg bytes.Buffer
	cmd.Stderr = &msg
	b, err := cmd.Output()
	if err != nil || msg.Len() > 0 {
		t.Fatalf("ffmpeg: %v: %s", err, msg.Bytes())
	}
	s := make([]float32, len(b)/4)
	for i := range s {
		s[i] = math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:]))
	}
	return s
}

func writeFile(t testing.TB, path string, b []byte) {
	t.Helper()
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

func wavBytes(t testing.TB, s []float32, f RawFormat) []byte {
	t.Helper()
	var b bytes.Buffer
	w, err := NewWAVWriter(&b, f)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(s); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// flacBytes writes a FLAC with a complete header.
func flacBytes(t testing.TB, s []float32, rate, channels int) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "out.flac")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := NewFLACWriter(f, Format{Rate: hz(rate), Channels: channels})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(s); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// within runs f and fails if it takes longer than d; f then goes on alone.
func within(t testing.TB, d time.Duration, what string, f func()) {
	t.Helper()
	done := make(chan any, 1)
	go func() {
		defer func() { done <- recover() }()
		f()
	}()
	select {
	case p := <-done:
		if p != nil {
			t.Fatalf("%s: panic: %v", what, p)
		}
	case <-time.After(d):
		t.Fatalf("%s: still busy after %v", what, d)
	}
}

// drain reads a stream of any content and checks what must always hold.
func drain(ctx context.Context, t testing.TB, b []byte) (frames int64) {
	r, err := NewReader(ctx, "test", bytes.NewReader(b))
	if err != nil {
		return 0
	}
	defer r.Close()
	ch := r.Format().Channels
	buf := make([]float32, 4096*ch)
	for {
		n, err := r.Read(buf)
		if err != nil {
			return frames
		}
		for _, v := range buf[:n*ch] {
			if !onGrid(v) {
				t.Errorf("sample %v is off the grid", v)
				return frames
			}
		}
		// Holes are told and bounded; nothing may come without end.
		if frames += int64(n); frames > 100_000_000 {
			t.Errorf("%d frames out of %d bytes", frames, len(b))
			return frames
		}
	}
}

func readFile(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
