package sound

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// chunk makes a RIFF chunk with its padding.
func chunk(id string, body []byte) []byte {
	b := append([]byte(id), 0, 0, 0, 0)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(body)))
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// fmtBody makes the fields of a fmt chunk (Multiple Channel Audio Data and
// WAVE Files, WAVEFORMATEX).
func fmtBody(tag, channels, rate, bits int) []byte {
	le := binary.LittleEndian
	align := channels * ((bits + 7) / 8)
	b := le.AppendUint16(nil, uint16(tag))
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*align))
	b = le.AppendUint16(b, uint16(align))
	return le.AppendUint16(b, uint16(bits))
}

// extensible makes WAVEFORMATEXTENSIBLE of it.
func extensible(tag, channels, rate, bits, valid int) []byte {
	b := fmtBody(0xFFFE, channels, rate, bits)
	b = append(b, 22, 0, byte(valid), 0, 0, 0, 0, 0, byte(tag), 0)
	return append(b, 0, 0, 0, 0, 0x10, 0, 0x80, 0, 0, 0xAA, 0, 0x38, 0x9B, 0x71)
}

func riff(chunks ...[]byte) []byte {
	body := append([]byte("WAVE"), bytes.Join(chunks, nil)...)
	return chunk("RIFF", body)
}

func patch(b []byte, at int, v uint32) []byte {
	b = bytes.Clone(b)
	binary.LittleEndian.PutUint32(b[at:], v)
	return b
}

func TestWAVEncodings(t *testing.T) {
	f64 := func(v ...float64) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
		}
		return b
	}
	f32 := func(v ...float32) (b []byte) {
		for _, x := range v {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
		}
		return b
	}
	const step = 1.0 / (1 << 23)
	tests := []struct {
		name string
		fmt  []byte
		data []byte
		want []float32
		bits int
	}{
		{"8 bits are unsigned", fmtBody(1, 1, 44100, 8), []byte{0, 128, 255, 129}, []float32{-1, 0, 127.0 / 128, 1.0 / 128}, 8},
		{"16 bits", fmtBody(1, 1, 44100, 16), []byte{0, 0x80, 0xFF, 0x7F, 1, 0}, []float32{-1, 32767.0 / 32768, 1.0 / 32768}, 16},
		{"24 bits", fmtBody(1, 1, 44100, 24), []byte{0, 0, 0x80, 0xFF, 0xFF, 0x7F, 1, 0, 0, 0xFF, 0xFF, 0xFF}, []float32{-1, 1 - step, step, -step}, 24},
		{"32 bits round half to even", fmtBody(1, 1, 44100, 32), []byte{0x80, 0, 0, 0, 0x80, 1, 0, 0, 0, 0, 0, 0x80, 0xFF, 0xFF, 0xFF, 0x7F}, []float32{0, 2 * step, -1, 1 - step}, 32},
		{"32-bit float", fmtBody(3, 1, 44100, 32), f32(0.5, -1, step*1.5), []float32{0.5, -1, 2 * step}, 0},
		{"64-bit float rounds once", fmtBody(3, 1, 44100, 64), f64(0.25, 0.25+step*0.49999999999), []float32{0.25, 0.25}, 0},
		{"20 bits in three bytes", fmtBody(1, 1, 44100, 20), []byte{0x10, 0, 0x40}, []float32{0.5 + 16*step}, 20},
		{"extensible integer", extensible(1, 1, 96000, 32, 24), []byte{0, 0, 0, 0x40}, []float32{0.5}, 32},
		{"extensible float", extensible(3, 1, 96000, 32, 32), f32(-0.5), []float32{-0.5}, 0},
		{"stereo", fmtBody(1, 2, 44100, 16), []byte{0, 0x40, 0, 0xC0}, []float32{0.5, -0.5}, 16},
	}
	for _, tt := range tests {
		r := openBytes(t, riff(chunk("fmt ", tt.fmt), chunk("data", tt.data)))
		if f := r.Format(); f.Bits != tt.bits || f.Kind != "WAV" || f.Lossy || f.Frames != int64(len(tt.want)/f.Channels) {
			t.Errorf("%s: format %+v", tt.name, f)
		}
		same(t, tt.name, readAll(t, r), tt.want)
		if w := r.Warnings(); len(w) > 0 {
			t.Errorf("%s: warnings %q", tt.name, w)
		}
	}
}

func TestWAVContainers(t *testing.T) {
	f16 := chunk("fmt ", fmtBody(1, 1, 48000, 16))
	data := chunk("data", []byte{0, 0x40, 0, 0xC0})
	sound := []float32{0.5, -0.5}
	long := make([]float32, 50000)
	ds64 := func(n uint64) []byte {
		b := make([]byte, 28)
		binary.LittleEndian.PutUint64(b[8:], n)
		return chunk("ds64", b)
	}
	rf64 := func(b []byte, dataAt int) []byte {
		b = patch(patch(b, 4, 0xFFFFFFFF), dataAt+4, 0xFFFFFFFF)
		copy(b, "RF64")
		return b
	}
	plain := riff(f16, data)
	at := len(plain) - 12 // of the data chunk
	tests := []struct {
		name   string
		in     []byte
		want   []float32
		frames int64
		warn   string
	}{
		{"plain", plain, sound, 2, ""},
		{"parts before, of odd length too", riff(chunk("JUNK", make([]byte, 29)), chunk("bext", make([]byte, 603)), f16, chunk("fact", make([]byte, 4)), data), sound, 2, ""},
		{"parts after are no sound", riff(f16, data, chunk("LIST", []byte("INFOabc"))), sound, 2, ""},
		{"a large part before", riff(chunk("id3 ", make([]byte, 200001)), f16, data), sound, 2, ""},
		{"length 0 means up to the end", patch(plain, at+4, 0), sound, -1, ""},
		{"greatest length too", patch(plain, at+4, 0xFFFFFFFF), sound, -1, ""},
		{"and one just under 2 GiB", patch(plain, at+4, 0x7FFFF000), sound, -1, ""},
		{"RF64", rf64(riff(ds64(4), f16, data), 12+36+24), sound, 2, ""},
		{"RF64 with parts after", rf64(append(riff(ds64(4), f16, data), chunk("LIST", make([]byte, 10))...), 12+36+24), sound, 2, ""},
		{"cut short", patch(append(plain[:at:at], chunk("data", make([]byte, 100000))...), at+4, 1<<20), long, 1 << 19, "the sound ends 9.88 s early: the header says 10.9 s, 1.04 s are there"},
		{"half a frame at the end", append(patch(plain, at+4, 0), 7), sound, -1, "the last 1 byte is part of a frame and left out"},
		{"data of an odd length", riff(f16, chunk("data", []byte{0, 0x40, 0, 0xC0, 9})), sound, 2, "the last 1 byte is part of a frame and left out"},
	}
	for _, tt := range tests {
		r := openBytes(t, tt.in)
		if f := r.Format(); f.Frames != tt.frames {
			t.Errorf("%s: %d frames declared, want %d", tt.name, f.Frames, tt.frames)
		}
		same(t, tt.name, readAll(t, r), tt.want)
		if got := strings.Join(r.Warnings(), "|"); got != tt.warn {
			t.Errorf("%s: warning %q, want %q", tt.name, got, tt.warn)
		}
	}
}

func TestWAVRefused(t *testing.T) {
	data := chunk("data", make([]byte, 64))
	wav := func(f []byte) []byte { return riff(chunk("fmt ", f), data) }
	lying := fmtBody(1, 2, 48000, 16)
	lying[12] = 3
	tests := []struct {
		name, says string
		in         []byte
	}{
		{"no channels", "0 channels", wav(fmtBody(1, 0, 48000, 16))},
		{"too many channels", "65 channels", wav(fmtBody(1, 65, 48000, 16))},
		{"rate 0", "at least 22050 Hz", wav(fmtBody(1, 1, 0, 16))},
		{"telephone rate", "sampled at 8000 Hz", wav(fmtBody(1, 1, 8000, 16))},
		{"absurd rate", "more than 768000", wav(fmtBody(1, 1, 4_000_000, 16))},
		{"no bits", "0 bits", wav(fmtBody(1, 1, 48000, 0))},
		{"40 bits", "40 bits", wav(fmtBody(1, 1, 48000, 40))},
		{"16-bit float", "16 bits", wav(fmtBody(3, 1, 48000, 16))},
		{"frame size that does not fit", "contradicts itself", wav(lying)},
		{"short format part", "8 bytes long", wav(make([]byte, 8))},
		{"sound before its format", "before its format", riff(data)},
		{"nothing but the name", "ends inside its header", []byte("RIFF\x00\x00\x00\x00WAVE")},
		{"ends inside the format", "ends inside its header", riff(chunk("fmt ", fmtBody(1, 1, 48000, 16)))[:30]},
		{"never any sound", "no sound within", riff(bytes.Repeat(chunk("JUNK", nil), 2000))},
		{"a part longer than sense", `"JUNK" before the sound`, patch(riff(chunk("JUNK", nil)), 16, 0xFFFFFFF0)},
	}
	for _, tt := range tests {
		_, err := NewReader(t.Context(), "x.wav", bytes.NewReader(tt.in))
		if !errors.Is(err, ErrUnreadable) || !strings.Contains(err.Error(), tt.says) || !strings.HasPrefix(err.Error(), "read x.wav: ") {
			t.Errorf("%s: error %v, want one that says %q", tt.name, err, tt.says)
		}
	}
}

// Every value that can be written comes back; what cannot is rounded as said.
func TestWAVRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		channels := rapid.IntRange(1, 5).Draw(rt, "channels")
		n := rapid.IntRange(0, 700).Draw(rt, "frames")
		enc := rapid.SampledFrom([]Encoding{S16LE, S24LE, F32LE}).Draw(rt, "encoding")
		s := make([]float32, n*channels)
		for i := range s {
			s[i] = float32(rapid.Int32Range(-1<<23, 1<<23-1).Draw(rt, "step")) / (1 << 23)
		}
		got := readBytes(t, wavBytes(t, s, RawFormat{enc, 48000, channels}))
		want := make([]float32, len(s))
		copy(want, s)
		if enc == S16LE {
			for i, v := range s {
				want[i] = float32(min(math.RoundToEven(float64(v)*32768), 32767)/32768) + 0 // no minus zero
			}
		}
		same(t, enc.String(), got, want)
	})
}

func TestWAVWriterCompletesHeader(t *testing.T) {
	s := clickTrain(44100, 0.3)
	path := filepath.Join(t.TempDir(), "a.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := NewWAVWriter(f, RawFormat{S24LE, 44100, 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write(s[:1001]), w.Write(s[1001:]), w.Close(), w.Close()); err != nil {
		t.Fatal(err)
	}
	r, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if got := r.Format().Frames; got != int64(len(s)) {
		t.Errorf("%d frames declared, want %d", got, len(s))
	}
	same(t, "written file", readAll(t, r), s)
	same(t, "by ffmpeg", ffmpegReads(t, path), s)
}

// sparse is a file that is all length and no content.
type sparse struct{ at, size int64 }

func (s *sparse) Write(b []byte) (int, error) {
	s.at += int64(len(b))
	s.size = max(s.size, s.at)
	return len(b), nil
}

func (s *sparse) Seek(off int64, whence int) (int64, error) {
	if whence == io.SeekStart {
		s.at = off
	}
	return s.at, nil
}

func TestWAVWriterBeyond4GiB(t *testing.T) {
	w, err := NewWAVWriter(&sparse{}, RawFormat{F32LE, 48000, 2})
	if err != nil {
		t.Fatal(err)
	}
	const n = 5 << 30
	h, err := readWAVHead(bytes.NewReader(w.header(n)))
	if err != nil || h.dataBytes != n || len(w.header(n)) != wavHeadBytes {
		t.Errorf("header of %d bytes says %d bytes of sound, %v; want %d and %d", len(w.header(n)), h.dataBytes, err, wavHeadBytes, n)
	}
}

func TestWAVAgainstFFmpeg(t *testing.T) {
	s := noise(2*5000, 0.2, 6)
	for _, codec := range []string{"pcm_u8", "pcm_s16le", "pcm_s24le", "pcm_s32le", "pcm_f32le", "pcm_f64le"} {
		path := ffmpegMakes(t, s, 48000, 2, "a.wav", "-c:a", codec)
		r, err := Open(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		same(t, codec, readAll(t, r), ffmpegReads(t, path))
	}
}

func TestRaw(t *testing.T) {
	s := noise(2*1000, 0.2, 7)
	for _, e := range []Encoding{S24LE, F32LE} {
		raw := appendSamples(nil, s, e)
		r, err := NewRaw("raw", bytes.NewReader(raw), RawFormat{e, 48000, 2})
		if err != nil {
			t.Fatal(err)
		}
		if f := r.Format(); f.Kind != "raw" || f.Frames != -1 || f.Channels != 2 {
			t.Errorf("format %+v", f)
		}
		same(t, e.String(), readAll(t, r), s)
	}
	for _, f := range []RawFormat{{S16LE, 48000, 0}, {S16LE, 48000, 65}, {S16LE, 100, 1}, {S16LE, hz(1 << 30), 1}, {Encoding(9), 48000, 1}} {
		if _, err := NewRaw("raw", nil, f); err == nil || errors.Is(err, ErrUnreadable) {
			t.Errorf("%+v: error %v, want one about the arguments", f, err)
		}
	}
	if e, err := ParseEncoding("s24le"); e != S24LE || err != nil {
		t.Errorf("s24le gave %v, %v", e, err)
	}
	if _, err := ParseEncoding("mp3"); err == nil {
		t.Error("mp3 taken for a raw encoding")
	}
}

func TestSamplesThatAreNoNumbers(t *testing.T) {
	nan := float32(math.NaN())
	r := openBytes(t, wavBytes(t, []float32{nan, 0.5, nan, 3}, RawFormat{F32LE, 48000, 1}))
	same(t, "not numbers", readAll(t, r), []float32{0, 0.5, 0, 1 - 1.0/(1<<23)})
	want := "2 samples were no numbers and taken as 0|1 sample was beyond full scale and held there"
	if got := strings.Join(r.Warnings(), "|"); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// trickle gives one byte a time, and now and then none.
type trickle struct {
	b    []byte
	calm bool
}

func (t *trickle) Read(p []byte) (int, error) {
	if t.calm = !t.calm; t.calm {
		return 0, nil
	}
	if len(t.b) == 0 {
		return 0, io.EOF
	}
	n := copy(p[:1], t.b)
	t.b = t.b[n:]
	return n, nil
}

func TestStreamsThatTrickle(t *testing.T) {
	s := noise(2*900, 0.1, 2)
	for name, b := range map[string][]byte{"WAV": wavBytes(t, s, RawFormat{S24LE, 48000, 2}), "FLAC": flacBytes(t, s, 48000, 2)} {
		r, err := NewReader(t.Context(), name, &trickle{b: b})
		if err != nil {
			t.Fatal(err)
		}
		same(t, name, readAll(t, r), s)
	}
}

// A part of odd length is padded, and the whole says its length with it.
func TestWAVWriterPads(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := NewWAVWriter(f, RawFormat{S24LE, 48000, 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(w.Write([]float32{0.5}), w.Close()); err != nil {
		t.Fatal(err)
	}
	b := readFile(t, path)
	if got := int(binary.LittleEndian.Uint32(b[4:])); len(b)%2 != 0 || got != len(b)-8 || b[len(b)-8] != 3 {
		t.Errorf("%d bytes, the header says %d + 8, data of %d", len(b), got, b[len(b)-8])
	}
}
