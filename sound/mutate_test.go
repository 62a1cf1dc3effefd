package sound

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"testing"
	"time"
)

// seeds are good files of every kind decoded here, small.
func seeds(t testing.TB) map[string][]byte {
	s := noise(2*3000, 0.05, 11)
	return map[string][]byte{
		"WAV 16":  wavBytes(t, s, RawFormat{S16LE, 44100, 2}),
		"WAV f32": wavBytes(t, s[:2000], RawFormat{F32LE, 96000, 1}),
		"WAV odd": riff(chunk("JUNK", make([]byte, 33)), chunk("fmt ", extensible(1, 3, 48000, 24, 24)), chunk("data", make([]byte, 900)), chunk("LIST", make([]byte, 9))),
		"FLAC":    flacBytes(t, s, 48000, 2),
		"MP3":     fixture(t, "clicks.mp3")[:1500],
		"MP3 2":   fixture(t, "clicks-stereo.mp3")[:3000],
		"Opus":    fixture(t, "clicks.opus"),
		"Opus 2":  fixture(t, "clicks-stereo.opus"),
	}
}

// mutate copies b, cuts it or not, and changes up to 11 bytes, half of the
// time near the start, where the headers are.
func mutate(b []byte, rnd *rand.Rand) []byte {
	b = bytes.Clone(b)
	if rnd.IntN(3) == 0 {
		b = b[:rnd.IntN(len(b)+1)]
	}
	for range rnd.IntN(12) {
		if len(b) == 0 {
			break
		}
		at := rnd.IntN(len(b))
		if rnd.IntN(2) == 0 {
			at = rnd.IntN(min(len(b), 100))
		}
		b[at] = byte(rnd.IntN(256))
	}
	return b
}

var campaign = flag.Duration("campaign", 400*time.Millisecond, "how long to try broken files of each kind")

// Broken files neither hang, nor panic, nor give what is off the grid. What
// would go to ffmpeg is refused here, because it is not installed for this.
func TestBrokenFiles(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	each := *campaign
	if testing.Short() {
		each = 100 * time.Millisecond
	}
	for name, b := range seeds(t) {
		rnd := rand.New(rand.NewPCG(1, 2))
		n, slowest := 0, time.Duration(0)
		for end := time.Now().Add(each); time.Now().Before(end); n++ {
			m := mutate(b, rnd)
			begin := time.Now()
			within(t, 3*time.Second, name, func() { drain(context.Background(), t, m) })
			slowest = max(slowest, time.Since(begin))
		}
		t.Logf("%s: %d files, the slowest took %v", name, n, slowest)
	}
}

// Files made to cost work without end: heads that check, bodies that do not.
func TestCostlyFiles(t *testing.T) {
	const size = 8 << 20
	info := flacInfo{rate: 48000, channels: 8, bits: 24}
	head := appendFLACFrameHead(nil, 65535, info, 0)
	flac := append(flacInfoBytes(48000, 8, 24, 0), flacBytes(t, noise(8*100, 0.1, 1), 48000, 8)[42:]...)
	page := append([]byte("OggS\x00\x00"), make([]byte, 20)...)
	page = append(page, 255)
	opus := bytes.Clone(fixture(t, "clicks.opus"))
	for name, b := range map[string][]byte{
		"FLAC of constants": append(flac, bytes.Repeat(append(head, make([]byte, 32)...), size/len(head)/4)...),
		"FLAC of zeros":     append(append(flac, append(head, 8<<1, 0, 0, 0)...), make([]byte, size)...),
		"FLAC of heads":     append(flac, bytes.Repeat(head, size/len(head))...),
		"Ogg of heads":      append(opus[:len(opus)-500], bytes.Repeat(page, size/len(page))...),
		"MP3 and rubbish":   append(bytes.Clone(fixture(t, "clicks.mp3")), bytes.Repeat([]byte{0xFF, 0xFB, 0x90}, size/3)...),
	} {
		begin := time.Now()
		within(t, 5*time.Second, name, func() { drain(context.Background(), t, b) })
		t.Logf("%s: %v", name, time.Since(begin))
	}
}

// fuzzKind wants -fuzzminimizetime 10x: else most of the time goes into
// making large inputs smaller.
func fuzzKind(f *testing.F, kinds ...string) {
	all := seeds(f)
	for _, k := range kinds {
		f.Add(all[k])
	}
	f.Setenv("PATH", f.TempDir())
	f.Fuzz(func(t *testing.T, b []byte) {
		within(t, 5*time.Second, "decoding", func() { drain(context.Background(), t, b) })
	})
}

func FuzzWAV(f *testing.F)  { fuzzKind(f, "WAV 16", "WAV f32", "WAV odd") }
func FuzzFLAC(f *testing.F) { fuzzKind(f, "FLAC") }
func FuzzMP3(f *testing.F)  { fuzzKind(f, "MP3", "MP3 2") }
func FuzzOpus(f *testing.F) { fuzzKind(f, "Opus", "Opus 2") }
