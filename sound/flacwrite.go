package sound

import (
	"bufio"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"io"
)

// FLACWriter writes 24-bit FLAC, RFC 9639, as a stream: whole blocks go out
// as they fill, and what is out can be read even if Close never comes.
type FLACWriter struct {
	w       *bufio.Writer
	seek    io.Seeker // nil if the header cannot be completed
	start   int64
	info    flacInfo
	block   []int32 // interleaved, up to flacBlock frames
	enc     *flacEncoder
	md5     hash.Hash
	sumBuf  []byte
	blocks  int64
	written int64
	err     error
}

const (
	flacBlock       = 4096 // frames; within the streamable subset at every rate
	flacDepth       = 24   // bits written
	maxFLACChannels = 8
	maxFLACRate     = 655350 // what a frame header can hold, in tens of Hz
)

// NewFLACWriter writes the header to w. Only rate (whole Hz) and channels (1
// to 8) of f matter. Where w can seek, Close completes the header with length
// and MD5; where it cannot (a pipe), the header says "unknown", which is
// valid FLAC. It does not close w.
func NewFLACWriter(w io.Writer, f Format) (*FLACWriter, error) {
	rate := int(f.Rate)
	if f.Channels < 1 || f.Channels > maxFLACChannels {
		return nil, fmt.Errorf("write FLAC: %d channels; it holds 1 to %d", f.Channels, maxFLACChannels)
	}
	if float64(f.Rate) != float64(rate) || rate < 1 || rate > maxFLACRate {
		return nil, fmt.Errorf("write FLAC: a rate of %g Hz; it holds whole numbers up to %d", float64(f.Rate), maxFLACRate)
	}
	x := &FLACWriter{
		w:    bufio.NewWriterSize(w, 64<<10),
		info: flacInfo{maxBlock: flacBlock, rate: rate, channels: f.Channels, bits: flacDepth},
		enc:  newFLACEncoder(f.Channels),
		md5:  md5.New(),
	}
	x.seek, x.start = seekable(w)
	x.block = make([]int32, 0, flacBlock*f.Channels)
	_, err := x.w.Write(flacHeader(x.info, [16]byte{}))
	if err != nil {
		return nil, fmt.Errorf("write FLAC: %w", err)
	}
	return x, nil
}

// seekable gives w as a Seeker and where it stands, if it really can seek: a
// pipe has the method and fails.
func seekable(w io.Writer) (io.Seeker, int64) {
	s, ok := w.(io.Seeker)
	if !ok {
		return nil, 0
	}
	at, err := s.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil, 0
	}
	return s, at
}

// flacHeader is the marker and STREAMINFO, §8.2.
func flacHeader(i flacInfo, sum [16]byte) []byte {
	h := append([]byte("fLaC"), 0x80, 0, 0, 34)
	h = binary.BigEndian.AppendUint16(h, uint16(i.maxBlock))
	h = binary.BigEndian.AppendUint16(h, uint16(i.maxBlock))
	h = append(h, 0, 0, 0, 0, 0, 0) // frame sizes unknown
	h = binary.BigEndian.AppendUint64(h,
		uint64(i.rate)<<44|uint64(i.channels-1)<<41|uint64(i.bits-1)<<36|uint64(i.total))
	return append(h, sum[:]...)
}

// Write takes whole interleaved frames on the 24-bit grid, as this package
// gives them; others are put on it.
func (x *FLACWriter) Write(frames []float32) error {
	if x.err != nil {
		return x.err
	}
	if len(frames)%x.info.channels != 0 {
		return errors.New("write FLAC: part of a frame")
	}
	var a amiss
	var tmp [512]float32
	for len(frames) > 0 {
		n := min(len(frames), cap(x.block)-len(x.block), len(tmp))
		a.quantise(tmp[:n], frames[:n])
		for _, v := range tmp[:n] {
			x.block = append(x.block, toGrid(v))
		}
		frames = frames[n:]
		if len(x.block) == cap(x.block) {
			x.emit()
		}
	}
	return x.err
}

// emit writes the block gathered.
func (x *FLACWriter) emit() {
	if len(x.block) == 0 || x.err != nil {
		return
	}
	x.hash()
	out := x.enc.encode(x.block, x.info, x.blocks)
	if _, err := x.w.Write(out); err != nil {
		x.err = fmt.Errorf("write FLAC: %w", err)
		return
	}
	x.blocks++
	x.written += int64(len(x.block) / x.info.channels)
	x.block = x.block[:0]
}

// hash adds the block to the MD5, which is over little-endian samples.
func (x *FLACWriter) hash() {
	b := x.sumBuf[:0]
	for _, v := range x.block {
		b = append(b, byte(v), byte(v>>8), byte(v>>16))
	}
	x.md5.Write(b)
	x.sumBuf = b
}

// Flush hands all whole blocks to the underlying writer. Up to 4 095 frames
// stay, because only the last block of a stream may be shorter.
func (x *FLACWriter) Flush() error {
	if x.err == nil {
		if err := x.w.Flush(); err != nil {
			x.err = fmt.Errorf("write FLAC: %w", err)
		}
	}
	return x.err
}

// Written is the number of frames in whole blocks so far: after Flush these
// have reached the underlying writer and can be read back.
func (x *FLACWriter) Written() int64 { return x.written }

// Close writes the last block and completes the header where it can.
func (x *FLACWriter) Close() error {
	if errors.Is(x.err, errClosed) {
		return nil
	}
	x.emit()
	err := x.Flush()
	if err == nil && x.seek != nil {
		err = x.complete()
	}
	x.err = errClosed
	return err
}

// complete writes the header again with what is known now.
func (x *FLACWriter) complete() error {
	x.info.total = x.written & (1<<36 - 1)
	if x.written >= 1<<36 {
		x.info.total = 0 // unknown
	}
	var sum [16]byte
	copy(sum[:], x.md5.Sum(nil))
	end, err := x.seek.Seek(0, io.SeekCurrent)
	if err == nil {
		_, err = x.seek.Seek(x.start, io.SeekStart)
	}
	if err == nil {
		_, err = x.w.Write(flacHeader(x.info, sum))
	}
	if err == nil {
		err = x.w.Flush()
	}
	if err == nil {
		_, err = x.seek.Seek(end, io.SeekStart)
	}
	if err != nil {
		return fmt.Errorf("complete the header of the FLAC: %w", err)
	}
	return nil
}
