package sound

import (
	"bytes"
	"context"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func TestFFmpegKinds(t *testing.T) {
	s := clickTrain(44100, 1.2)
	tests := []struct {
		file, kind string
		lossy      bool
		args       []string
	}{
		{"a.m4a", "aac", true, nil},
		{"alac.m4a", "alac", false, []string{"-c:a", "alac"}},
		{"a.ogg", "vorbis", true, []string{"-c:a", "libvorbis"}},
		{"a.webm", "opus", true, nil},
		{"a.aiff", "pcm_s24be", false, []string{"-c:a", "pcm_s24be"}},
		{"a.caf", "pcm_s16be", false, nil},
		{"a.wv", "wavpack", false, nil},
		{"a.tta", "tta", false, nil},
		{"a.ac3", "ac3", true, nil},
		{"a.aac", "aac", true, nil},
		{"a.wav", "adpcm_ms", true, []string{"-c:a", "adpcm_ms"}},
	}
	for i, tt := range tests {
		if testing.Short() && i > 3 {
			break
		}
		path := ffmpegMakes(t, s, 44100, 1, tt.file, tt.args...)
		for _, piped := range []bool{false, true} {
			if piped && !strings.Contains("a.ogg a.webm a.wv", tt.file) {
				continue // an index at the end cannot be piped; the others are alike
			}
			checkFFmpegKind(t, path, piped, tt.kind, tt.lossy)
		}
	}
}

func checkFFmpegKind(t *testing.T, path string, piped bool, kind string, lossy bool) {
	t.Helper()
	r := openEither(t, path, piped)
	f := r.Format()
	if f.Kind != kind || f.Lossy != lossy || f.Channels != 1 || f.Rate != 44100 && kind != "opus" {
		t.Errorf("%s, piped %v: format %+v", path, piped, f)
	}
	got := readAll(t, r)
	if len(r.Warnings()) > 0 {
		t.Errorf("%s, piped %v: warnings %q", path, piped, r.Warnings())
	}
	if lossy {
		if d := float64(len(got)) / float64(f.Rate); math.Abs(d-1.2) > 0.06 {
			t.Errorf("%s, piped %v: %.3f s, want 1.2", path, piped, d)
		}
		return
	}
	want := ffmpegReads(t, path)
	var a amiss
	a.quantise(want, want)
	same(t, path, got, want)
}

func openEither(t *testing.T, path string, piped bool) Reader {
	t.Helper()
	r, err := Open(t.Context(), path)
	if piped {
		f, e := os.Open(path)
		if e != nil {
			t.Fatal(e)
		}
		t.Cleanup(func() { f.Close() })
		if r != nil {
			r.Close()
		}
		r, err = NewReader(t.Context(), "-", f)
	}
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Names that mean something to ffmpeg mean nothing here.
func TestFFmpegNames(t *testing.T) {
	good := ffmpegMakes(t, clickTrain(44100, 0.3), 44100, 1, "a.ogg", "-c:a", "libvorbis")
	b, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	want := len(ffmpegReads(t, good))
	t.Chdir(t.TempDir())
	for _, name := range []string{"-i.ogg", "concat:a|b.ogg", "pipe:0", "http:x", "a%03d.ogg", "ein Satz.ogg", "é\n.ogg"} {
		writeFile(t, name, b)
		r, err := Open(t.Context(), name)
		if err != nil {
			t.Errorf("%q: %v", name, err)
			continue
		}
		if n := len(readAll(t, r)); n != want {
			t.Errorf("%q: %d frames, want %d", name, n, want)
		}
	}
}

func TestFFmpegMissing(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	_, err := NewReader(t.Context(), "talk.m4a", strings.NewReader("\x00\x00\x00\x20ftypM4A \x00\x00\x02\x00more"))
	want := "read talk.m4a: this looks like an MPEG-4 sound or video; install ffmpeg, or convert it to WAV or FLAC"
	if err == nil || err.Error() != want || !errors.Is(err, ErrUnreadable) {
		t.Errorf("got %v, want %s", err, want)
	}
}

// ffmpegPretender puts a script in ffmpeg's place.
func ffmpegPretender(t *testing.T, script string) {
	t.Helper()
	sh := needTool(t, "sh")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "ffmpeg"), []byte("#!"+sh+"\n"+script), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir+string(os.PathListSeparator)+os.Getenv("PATH"))
}

const webm = "\x1a\x45\xdf\xa3 what follows does not matter here"

func TestFFmpegThatHangs(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for the deadline")
	}
	t.Parallel()
	path := filepath.Join(t.TempDir(), "a.webm")
	writeFile(t, path, []byte(webm))
	sh := needTool(t, "sleep")
	f := &ffmpegReader{name: path, log: &ffmpegLog{}}
	ctx, cancel := context.WithCancel(t.Context())
	f.cancel = cancel
	f.cmd = exec.CommandContext(ctx, sh, "60")
	out, err := f.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	f.out = out
	if err := f.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	begin := time.Now()
	p := &patient{f: f, limit: 200 * time.Millisecond}
	n, err := p.Read(make([]byte, 10))
	if n != 0 || !errors.Is(err, ErrUnreadable) || !p.gaveUp || time.Since(begin) > 3*time.Second {
		t.Errorf("got %d, %v after %v", n, err, time.Since(begin))
	}
}

func TestFFmpegThatFails(t *testing.T) {
	ffmpegPretender(t, "echo '[x @ 0x1234] [error] the header\n is odd' >&2; exit 1")
	_, err := NewReader(t.Context(), "a.webm", strings.NewReader(webm))
	want := "read a.webm: this looks like a WebM or Matroska sound or video, but ffmpeg cannot read it: the header; copy the file again"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// A slow stream is not ffmpeg's fault, and cancelling ends it.
func TestFFmpegSlowStream(t *testing.T) {
	path := ffmpegMakes(t, clickTrain(44100, 1), 44100, 1, "a.ogg", "-c:a", "libvorbis")
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	pr, pw := io.Pipe()
	defer pw.Close()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() { _, _ = pw.Write(b[:len(b)-1000]) }()
	within(t, 8*time.Second, "cancelling", func() {
		time.AfterFunc(500*time.Millisecond, cancel)
		r, err := NewReader(ctx, "-", pr)
		if err != nil {
			if !errors.Is(err, context.Canceled) {
				t.Errorf("open: %v", err)
			}
			return
		}
		buf := make([]float32, 4096)
		for err == nil {
			_, err = r.Read(buf)
		}
		r.Close()
	})
}

func TestFFmpegLogCannotBeForged(t *testing.T) {
	var l ffmpegLog
	l.follow(strings.NewReader("[info] Input #0, ogg, from 'x':\n" +
		"[info]   Metadata:\n" +
		"[info]     title           : [info]   Stream #0:0 -> #0:0 (pcm_s16le\n" +
		"[info]     comment         :   Duration: 99:00:00.00\n" +
		"[info]   Duration: 00:01:02.50, start: 0.0\n" +
		"[info]   Stream #0:0 -> #0:0 (vorbis (native) -> pcm_f32le (native))\n" +
		strings.Repeat("x", 10000) + "\n"))
	if l.codecName() != "vorbis" || l.length() != 62.5 || l.errors() != 0 {
		t.Errorf("codec %q, %v s, %d errors", l.codecName(), l.length(), l.errors())
	}
}

func TestFFmpegLossy(t *testing.T) {
	for codec, want := range map[string]bool{
		"aac": true, "vorbis": true, "opus": true, "mp3": true, "ac3": true, "adpcm_ms": true, "ffmpeg": true, "pcm_mulaw": true,
		"alac": false, "pcm_s16be": false, "wavpack": false, "tta": false, "flac": false, "truehd": false, "apex": true,
	} {
		if got := ffmpegIsLossy(codec); got != want {
			t.Errorf("%s: lossy %v, want %v", codec, got, want)
		}
	}
}

// No playlist reaches ffmpeg: the pretender would tell.
func TestPlaylistsRefused(t *testing.T) {
	trace := filepath.Join(t.TempDir(), "called")
	ffmpegPretender(t, ": > '"+trace+"'")
	for _, text := range []string{
		"#EXTM3U\n#EXTINF:1,\nhttp://example.org/a.ts\n",
		"\n\n  #extm3u\n",
		"\xEF\xBB\xBF#EXTM3U\n\x00\x01\x02",
		"ffconcat version 1.0\nfile 'a.wav'\n",
		"[playlist]\nFile1=a.mp3\n",
		"<?xml version=\"1.0\"?><MPD xmlns=\"urn:mpeg:dash:schema:mpd:2011\"/>",
		"v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\n",
		"<ASX version=\"3\">",
		"file:///etc/passwd\n",
		"a.mp3\nb.mp3\n",
		"# a comment, then names\n../a.mp3\n",
		"\xFF\xFE#\x00E\x00X\x00T\x00M\x003\x00U\x00\n\x00",
	} {
		_, err := NewReader(t.Context(), "list", strings.NewReader(text))
		if !errors.Is(err, ErrUnreadable) || !strings.Contains(err.Error(), "not a sound") {
			t.Errorf("%q: error %v", text, err)
		}
	}
	if _, err := os.Stat(trace); err == nil {
		t.Error("ffmpeg was called")
	}
}

// And if one did, in a binary shell, the formats allowed would not open it.
func TestFFmpegWillNotFollow(t *testing.T) {
	needTool(t, "ffmpeg")
	dir := t.TempDir()
	writeFile(t, filepath.Join(dir, "a.wav"), wavBytes(t, clickTrain(44100, 0.2), RawFormat{S16LE, 44100, 1}))
	list := filepath.Join(dir, "list.bin")
	for _, text := range []string{"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\na.wav\n#EXT-X-ENDLIST\n", "ffconcat version 1.0\nfile a.wav\n"} {
		writeFile(t, list, []byte(text))
		r, err := newFFmpeg(t.Context(), list, bytes.NewReader(nil), list, kind{})
		if err == nil {
			r.Close()
			t.Errorf("%q was followed", text)
		}
	}
}
