package sound

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/mewkiz/flac"
	"pgregory.net/rapid"
)

// drawSound makes sound that reaches every way a FLAC block is coded:
// silence, constants, 16-bit steps, smooth waves, noise up to full scale,
// single spikes, and ends anywhere in a block.
func drawSound(t *rapid.T, channels int) []float32 {
	n := rapid.OneOf(rapid.IntRange(0, 40), rapid.IntRange(4000, 9000)).Draw(t, "frames")
	s := make([]float32, n*channels)
	for c := range channels {
		kind := rapid.SampledFrom([]string{"zero", "constant", "noise", "16 bits", "wave", "spikes", "square"}).Draw(t, "kind")
		amp := math.Pow(2, -float64(rapid.IntRange(0, 22).Draw(t, "amp")))
		seed := rapid.Uint64Range(1, 1000).Draw(t, "seed")
		p := noise(n, amp, seed)
		for i := range n {
			v := p[i]
			switch kind {
			case "zero":
				v = 0
			case "constant":
				v = float32(-amp)
			case "16 bits":
				v = float32(math.Trunc(float64(v)*32768) / 32768)
			case "wave":
				v = float32(amp * math.Sin(float64(i)*0.01))
			case "spikes":
				if v = 0; i%977 == 5 {
					v = -1
				}
			case "square":
				v = float32(1 - 2*(i/3%2))
			}
			s[i*channels+c] = v
		}
	}
	var a amiss
	a.quantise(s, s)
	return s
}

// The promise of the package: what leaves it, written as 24-bit FLAC, is read
// back as the same sound, bit for bit.
func TestFLACRoundTrip(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		channels := rapid.IntRange(1, 8).Draw(rt, "channels")
		rate := rapid.SampledFrom([]int{22050, 44100, 48000, 37000, 44101, 96000, 384000, 99990, 123457}).Draw(rt, "rate")
		s := drawSound(rt, channels)
		var b bytes.Buffer
		w, err := NewFLACWriter(&b, Format{Rate: hz(rate), Channels: channels})
		if err != nil {
			t.Fatal(err)
		}
		for rest := s; len(rest) > 0; {
			n := min(rapid.IntRange(1, 5000).Draw(rt, "portion")*channels, len(rest))
			if err := w.Write(rest[:n]); err != nil {
				t.Fatal(err)
			}
			rest = rest[n:]
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		r := openBytes(t, b.Bytes())
		if f := r.Format(); f.Rate != hz(rate) || f.Channels != channels || f.Bits != 24 || f.Frames != -1 || f.Kind != "FLAC" {
			t.Fatalf("format %+v", f)
		}
		same(t, "round trip", readAll(t, r), s)
		if len(r.Warnings()) > 0 {
			t.Fatalf("warnings %q", r.Warnings())
		}
	})
}

// Our files in another library, its MD5 check included.
func TestFLACAgainstLibrary(t *testing.T) {
	for _, channels := range []int{1, 2, 3} {
		s := append(clickTrain(48000, 0.4), noise(20001*channels-19200, 0.7, 5)...)
		b := flacBytes(t, s, 48000, channels)
		st, err := flac.New(bytes.NewReader(b))
		if err != nil {
			t.Fatal(err)
		}
		if st.Info.NSamples != uint64(len(s)/channels) || st.Info.BlockSizeMin != 4096 || st.Info.BlockSizeMax != 4096 {
			t.Errorf("header %+v", st.Info)
		}
		var got []float32
		sum := md5.New()
		for {
			f, err := st.ParseNext()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			f.Hash(sum)
			for i := range f.Subframes[0].Samples {
				for _, sub := range f.Subframes {
					got = append(got, float32(sub.Samples[i])/(1<<23))
				}
			}
		}
		same(t, "by the library", got, s)
		if !bytes.Equal(sum.Sum(nil), st.Info.MD5sum[:]) {
			t.Error("MD5 does not fit")
		}
	}
}

// Our decoder on ffmpeg's files, which use what ours do not: LPC of order up
// to 32, mid-side stereo, other block sizes, 16 bits.
func TestFLACAgainstFFmpeg(t *testing.T) {
	s := clickTrain(44100, 1.2)
	var two []float32
	for i, v := range s {
		two = append(two, v, v/2+float32(i%50)/1024)
	}
	tests := []struct {
		name     string
		channels int
		args     []string
	}{
		{"16 bits", 1, []string{"-sample_fmt", "s16"}},
		{"24 bits", 1, []string{"-sample_fmt", "s32"}},
		{"best", 2, []string{"-sample_fmt", "s32", "-compression_level", "12"}},
		{"long LPC", 1, []string{"-lpc_type", "cholesky", "-lpc_passes", "2", "-max_prediction_order", "32", "-min_prediction_order", "30"}},
		{"left-side", 2, []string{"-ch_mode", "left_side", "-sample_fmt", "s16"}},
		{"side-right", 2, []string{"-ch_mode", "right_side", "-sample_fmt", "s16"}},
		{"mid-side", 2, []string{"-ch_mode", "mid_side", "-sample_fmt", "s32"}},
		{"odd blocks", 1, []string{"-frame_size", "777"}},
		{"fixed", 2, []string{"-lpc_type", "fixed"}},
	}
	for _, tt := range tests {
		in := s
		if tt.channels == 2 {
			in = two
		}
		path := ffmpegMakes(t, in, 44100, tt.channels, "a.flac", append(tt.args, "-strict", "-2")...)
		r, err := Open(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		same(t, tt.name, readAll(t, r), ffmpegReads(t, path))
		if len(r.Warnings()) > 0 {
			t.Errorf("%s: warnings %q", tt.name, r.Warnings())
		}
	}
}

// And ffmpeg on ours.
func TestFLACReadByFFmpeg(t *testing.T) {
	s := append(noise(2*4096, 0.9, 1), clickTrain(48000, 0.5)...)
	path := t.TempDir() + "/a.flac"
	writeFile(t, path, flacBytes(t, s, 48000, 2))
	same(t, "by ffmpeg", ffmpegReads(t, path), s)
}

func TestFLACHalf(t *testing.T) {
	s := noise(48000, 0.1, 8)
	b := flacBytes(t, s, 48000, 1)
	r := openBytes(t, b[:len(b)/2])
	got := readAll(t, r)
	if len(got) < 20000 || len(got) >= 25000 || len(got)%4096 != 0 {
		t.Fatalf("%d frames of half a file", len(got))
	}
	same(t, "half", got, s[:len(got)])
	want := fmt.Sprintf("the sound ends %.3g s early: the header says 1 s, %.3g s are there", 1-float64(len(got))/48000, float64(len(got))/48000)
	if w := r.Warnings(); len(w) != 1 || w[0] != want {
		t.Errorf("warnings %q, want %q", w, want)
	}
}

// A damaged block leaves a hole of its own length, not of exact zeros, and
// what follows stays in its place.
func TestFLACDamaged(t *testing.T) {
	s := noise(48000, 0.1, 8)
	b := flacBytes(t, s, 48000, 1)
	b[len(b)/2] ^= 0x55
	r := openBytes(t, b)
	got := readAll(t, r)
	if len(got) != len(s) {
		t.Fatalf("%d frames, want %d", len(got), len(s))
	}
	bad := 0
	for i := range got {
		if got[i] != s[i] {
			bad++
			if got[i] == 0 {
				t.Fatal("the hole holds an exact zero")
			}
		}
	}
	if bad < 4000 || bad > 4096 {
		t.Errorf("%d samples differ, want one block of 4096 at most", bad)
	}
	if w := r.Warnings(); len(w) != 1 || !strings.Contains(w[0], "0.0853 s of sound are lost") {
		t.Errorf("warnings %q", w)
	}
}

// What is flushed can be read although the writer never closed.
func TestFLACUnclosed(t *testing.T) {
	var b bytes.Buffer
	w, err := NewFLACWriter(&b, Format{Rate: 48000, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	s := noise(10000, 0.1, 3)
	if err := w.Write(s); err != nil {
		t.Fatal(err)
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	if w.Written() != 8192 {
		t.Errorf("%d frames written, want two blocks", w.Written())
	}
	same(t, "flushed", readBytes(t, b.Bytes()), s[:8192])
}

func TestFLACWriterRefuses(t *testing.T) {
	for _, f := range []Format{{Rate: 48000}, {Rate: 48000, Channels: 9}, {Rate: 44100.5, Channels: 1}, {Rate: 768000, Channels: 1}} {
		if _, err := NewFLACWriter(io.Discard, f); err == nil {
			t.Errorf("%+v was taken", f)
		}
	}
	w, err := NewFLACWriter(io.Discard, Format{Rate: 48000, Channels: 2})
	if err != nil {
		t.Fatal(err)
	}
	if w.Write(make([]float32, 3)) == nil {
		t.Error("part of a frame was taken")
	}
}

// A junk tag in front, seek table and picture inside, a tag behind.
func TestFLACSurroundings(t *testing.T) {
	s := noise(6000, 0.1, 8)
	b := flacBytes(t, s, 48000, 1)
	in := append([]byte("ID3\x04\x00\x00\x00\x00\x01\x00"), make([]byte, 128)...)
	in = append(in, b[:4]...)
	info := bytes.Clone(b[4:42])
	info[0] = 0 // no longer the last block
	in = append(in, info...)
	in = append(in, 3, 0, 0, 18)
	in = append(in, make([]byte, 18)...)
	in = append(in, 0x86, 1, 0, 0) // a picture of 64 KiB
	in = append(in, make([]byte, 65536)...)
	in = append(in, b[42:]...)
	in = append(in, "TAG"+strings.Repeat("\xFF\xF8", 62)+"\x00"...)
	r := openBytes(t, in)
	same(t, "surrounded", readAll(t, r), s)
	if len(r.Warnings()) > 0 {
		t.Errorf("warnings %q", r.Warnings())
	}
}

func TestCodedNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(0, 1<<36-1).Draw(t, "n")
		b := appendCoded(nil, n)
		got, size := codedNumber(append(b, 0xAA))
		if got != n || size != len(b) {
			t.Fatalf("%d in %x came back as %d in %d bytes", n, b, got, size)
		}
	})
	// The euro sign's code point, as in any table of UTF-8.
	if b := appendCoded(nil, 0x20AC); !bytes.Equal(b, []byte("€")) {
		t.Errorf("0x20AC coded as %x", b)
	}
}

// Check values of "123456789": CRC-8/SMBUS F4, CRC-16/UMTS FEE8 (the
// published catalogue of CRCs, from memory).
func TestCRC(t *testing.T) {
	b := []byte("123456789")
	if got := crc8(b); got != 0xF4 {
		t.Errorf("CRC-8 %#x, want 0xf4", got)
	}
	if got := crc16(b); got != 0xFEE8 {
		t.Errorf("CRC-16 %#x, want 0xfee8", got)
	}
}

// flacInfoBytes is a header alone, for descriptions no writer would make.
func flacInfoBytes(rate, channels, bits int, total int64) []byte {
	return flacHeader(flacInfo{maxBlock: 4096, rate: rate, channels: channels, bits: bits, total: total}, [16]byte{})
}

func TestFLACRefused(t *testing.T) {
	good := flacBytes(t, noise(5000, 0.1, 8), 48000, 1)
	noInfo := bytes.Clone(good)
	noInfo[4] = 0x84
	tests := []struct {
		name, says string
		in         []byte
	}{
		{"header only", "without one whole block", flacInfoBytes(48000, 1, 24, 1000)},
		{"first block cut", "without one whole block", good[:200]},
		{"rate", "at least 22050 Hz", flacInfoBytes(8000, 1, 24, 0)},
		{"bits", "samples of 1 bits", flacInfoBytes(48000, 1, 1, 0)},
		{"no description first", "description of the sound", noInfo},
		{"ends in the header", "ends inside its header", good[:20]},
	}
	for _, tt := range tests {
		_, err := NewReader(t.Context(), "x.flac", bytes.NewReader(tt.in))
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: error %v, want one that says %q", tt.name, err, tt.says)
		}
	}
}

// What RFC 9639 §9.2 reserves or forbids is refused below the check sums too.
func TestSubframeRefused(t *testing.T) {
	tests := []struct {
		name string
		put  func(*bitSink)
	}{
		{"reserved kind", func(s *bitSink) { s.put(2<<1, 8) }},
		{"fixed order 5", func(s *bitSink) { s.put(13<<1, 8) }},
		{"padding bit", func(s *bitSink) { s.put(0x80, 8) }},
		{"all bits wasted", func(s *bitSink) { s.put(1, 8); s.put(1, 16) }},
		{"coefficients of 16 bits", func(s *bitSink) { s.put(32<<1, 8); s.put(0, 16); s.put(15, 4) }},
		{"negative shift", func(s *bitSink) { s.put(32<<1, 8); s.put(0, 16); s.put(4, 4); s.put(31, 5) }},
		{"reserved coding", func(s *bitSink) { s.put(8<<1, 8); s.put(2, 2) }},
		{"parts that do not divide", func(s *bitSink) { s.put(8<<1, 8); s.put(0, 2); s.put(7, 4) }},
	}
	for _, tt := range tests {
		var s bitSink
		tt.put(&s)
		for range 40 {
			s.put(0xFFFF, 16)
		}
		s.align()
		if err := readSubframe(newFLACBits(bytes.NewReader(s.b)), make([]int64, 40), 16); err != errSubframe {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

// FuzzSubframe feeds the decoder below the check sums.
func FuzzSubframe(f *testing.F) {
	f.Add([]byte{0x10, 1, 2, 3, 4, 5, 6, 7, 8}, uint8(16), uint16(40))
	f.Add(binary.BigEndian.AppendUint64([]byte{0x7E}, 1<<60), uint8(33), uint16(4096))
	f.Fuzz(func(_ *testing.T, b []byte, width uint8, n uint16) {
		_ = readSubframe(newFLACBits(bytes.NewReader(b)), make([]int64, int(n)+1), uint(width%30)+4)
	})
}
