package sound

import (
	"bytes"
	"io"
	"testing"
)

// decodeAll reads with a buffer of usual size.
func decodeAll(b *testing.B, data []byte) {
	buf := make([]float32, 16384)
	for b.Loop() {
		r, err := NewReader(b.Context(), "bench", bytes.NewReader(data))
		if err != nil {
			b.Fatal(err)
		}
		for err == nil {
			_, err = r.Read(buf)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
}

// perSample reports ns for each sample; an hour of 48 kHz mono has 172.8
// million, so 1 ns is 0.17 s an hour.
func perSample(b *testing.B, n int) {
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/sample")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n)*0.1728, "s/hour")
}

func BenchmarkWAV(b *testing.B) {
	s := noise(1<<20, 0.05, 1)
	for _, e := range []Encoding{S16LE, S24LE, F32LE} {
		b.Run(e.String(), func(b *testing.B) {
			decodeAll(b, wavBytes(b, s, RawFormat{e, 48000, 1}))
			perSample(b, len(s))
		})
	}
}

func BenchmarkFLAC(b *testing.B) {
	s := noise(1<<20, 0.005, 1)
	b.Run("ours", func(b *testing.B) {
		decodeAll(b, flacBytes(b, s, 48000, 1))
		perSample(b, len(s))
	})
	for _, level := range []string{"0", "5", "8"} {
		b.Run("ffmpeg level "+level, func(b *testing.B) {
			path := ffmpegMakes(b, s, 48000, 1, "a.flac", "-sample_fmt", "s16", "-compression_level", level)
			decodeAll(b, readFile(b, path))
			perSample(b, len(s))
		})
	}
}

func BenchmarkFLACWriter(b *testing.B) {
	s := noise(1<<20, 0.005, 1)
	for b.Loop() {
		w, err := NewFLACWriter(io.Discard, Format{Rate: 48000, Channels: 1})
		if err != nil {
			b.Fatal(err)
		}
		if err := w.Write(s); err != nil {
			b.Fatal(err)
		}
		if err := w.Close(); err != nil {
			b.Fatal(err)
		}
	}
	perSample(b, len(s))
}

func BenchmarkLossy(b *testing.B) {
	for _, f := range []string{"clicks.mp3", "clicks.opus"} {
		b.Run(f, func(b *testing.B) {
			decodeAll(b, fixture(b, f))
			perSample(b, 57600)
		})
	}
}

func BenchmarkDoor(b *testing.B) {
	s := noise(1<<20, 0.05, 1)
	for b.Loop() {
		d := NewDoor(Format{Rate: 48000, Channels: 1})
		for i := 0; i < len(s); i += 16384 {
			d.Push(s[i:i+16384], func(Piece) {})
		}
	}
	perSample(b, len(s))
}
