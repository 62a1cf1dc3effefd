package sound

import (
	"bufio"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"github.com/pion/opus"
)

const (
	opusRate      = 48000         // Opus counts time at this rate whatever it codes
	opusMaxFrames = 5760          // 120 ms, the longest packet, RFC 6716 §3.4
	opusMaxPacket = 256 << 10     // chosen; real ones are under 8 kB
	opusMaxHole   = 60 * opusRate // chosen: a longer jump is a broken count
)

// opusHead is the first packet, RFC 7845 §5.1.
type opusHead struct {
	channels int
	preSkip  int64
	gain     float32
}

// parseOpusHead reads it; false if it is none, or has more channels than two.
func parseOpusHead(p []byte) (opusHead, bool) {
	if len(p) < 19 || string(p[:8]) != "OpusHead" || p[8] > 15 || p[18] != 0 || p[9] < 1 || p[9] > 2 {
		return opusHead{}, false
	}
	q78 := int16(binary.LittleEndian.Uint16(p[16:]))
	return opusHead{
		channels: int(p[9]),
		preSkip:  int64(binary.LittleEndian.Uint16(p[10:])),
		gain:     float32(math.Pow(10, float64(q78)/(20*256))),
	}, true
}

// opusReader decodes Ogg Opus by pion/opus; the Ogg part is its own, because
// the length of the sound hangs on page marks.
type opusReader struct {
	ctx     context.Context
	name    string
	src     *oggReader
	dec     opus.Decoder
	head    opusHead
	format  Format
	serial  uint32
	seq     uint32
	partial []byte // of a packet that goes on
	broken  bool   // its start or middle is missing
	packets [][]byte
	out     []float32 // decoded, not yet given
	pcm     []float32
	pos     int64 // granule position of the next frame decoded
	begun   bool
	stop    int64 // position where the sound ends; −1 until known
	hole    int64
	lost    int64
	tags    bool // the comment header has passed
	last    bool
	amiss   amiss
	warn    []string
	err     error
}

// newOpus reads from the first page on.
func newOpus(ctx context.Context, name string, b *bufio.Reader) (Reader, error) {
	src := &oggReader{b: b}
	p, _, err := src.next()
	if err != nil {
		return nil, because(name, "not an Ogg Opus that can be read", doConvert, err)
	}
	head, ok := parseOpusHead(p.body)
	if !ok {
		return nil, unreadable(name, "not an Ogg Opus that can be read", doConvert)
	}
	o := &opusReader{
		ctx: ctx, name: name, src: src, head: head, serial: p.serial, seq: p.seq, stop: -1,
		format: Format{Rate: opusRate, Channels: head.channels, Kind: "Ogg Opus", Lossy: true, Frames: -1},
		pcm:    make([]float32, opusMaxFrames*head.channels),
	}
	if o.dec, err = opus.NewDecoderWithOutput(opusRate, head.channels); err != nil {
		return nil, because(name, "not an Ogg Opus that can be read", doConvert, err)
	}
	for !o.ready() && o.err == nil {
		o.next()
	}
	if !o.ready() {
		if o.err == io.EOF {
			return nil, unreadable(name, "an Ogg Opus without any sound", "copy the file again")
		}
		return nil, o.err
	}
	return o, nil
}

// ready says whether frames can be given.
func (o *opusReader) ready() bool { return len(o.out) > 0 || o.hole > 0 }

// next decodes a packet or, if there is none, takes the next page.
func (o *opusReader) next() {
	if len(o.packets) == 0 {
		o.page()
		return
	}
	p := o.packets[0]
	o.packets = o.packets[1:]
	o.decode(p)
}

func (o *opusReader) Format() Format { return o.format }

// Warnings tells what was amiss.
func (o *opusReader) Warnings() []string {
	w := o.amiss.warnings()
	if o.lost > 0 {
		w = append(w, fmt.Sprintf("the file is damaged: %.3g s of sound are lost and left blank", float64(o.lost)/opusRate))
	}
	return append(w, o.warn...)
}

// Close ends reading.
func (o *opusReader) Close() error {
	o.err, o.out, o.hole, o.packets = errClosed, nil, 0, nil
	return nil
}

// Read gives at most one packet's frames.
func (o *opusReader) Read(dst []float32) (int, error) {
	ch := o.format.Channels
	want := len(dst) / ch
	if want == 0 {
		return 0, io.ErrShortBuffer
	}
	for {
		switch {
		case len(o.out) > 0:
			n := min(want, len(o.out)/ch)
			copy(dst, o.out[:n*ch])
			o.out = o.out[n*ch:]
			return n, nil
		case o.hole > 0:
			n := int(min(int64(want), o.hole))
			o.hole -= int64(n)
			blank(dst[:n*ch])
			return n, nil
		case o.err != nil:
			return 0, o.err
		default:
			o.next()
		}
	}
}

// page takes the next page of the stream apart.
func (o *opusReader) page() {
	if err := o.ctx.Err(); err != nil {
		o.err = fmt.Errorf("read %s: %w", plainName(o.name), err)
		return
	}
	if o.last {
		o.err = io.EOF
		return
	}
	p, skipped, err := o.src.next()
	if err != nil {
		o.end(err)
		return
	}
	if p.serial != o.serial {
		return
	}
	jump := p.seq != o.seq+1 || skipped > 0
	o.seq, o.last = p.seq, p.last
	o.unlace(p, jump)
	if p.granule >= 0 && len(o.packets) > 0 {
		o.time(p, jump)
	}
}

// end settles how the stream stopped.
func (o *opusReader) end(err error) {
	if err != io.EOF && err != io.ErrUnexpectedEOF {
		o.err = readFailed(o.name, err)
		return
	}
	o.err = io.EOF
	o.warn = append(o.warn, "the file has no end mark: the sound may be cut short")
}

// unlace makes packets of a page's segments, RFC 3533 §5.
func (o *opusReader) unlace(p oggPage, jump bool) {
	if jump && len(o.partial) > 0 || p.continued && len(o.partial) == 0 {
		o.broken = true
	}
	if !p.continued {
		o.partial, o.broken = o.partial[:0], false
	}
	body := p.body
	for _, n := range p.lacing {
		if len(o.partial) < opusMaxPacket {
			o.partial = append(o.partial, body[:n]...)
		}
		body = body[n:]
		if n == 255 {
			continue
		}
		if !o.broken {
			o.packet(o.partial)
		}
		o.partial, o.broken = o.partial[:0], false
	}
}

// packet keeps a packet of sound; the comment header is none.
func (o *opusReader) packet(p []byte) {
	if !o.tags {
		o.tags = true
		if len(p) >= 8 && string(p[:8]) == "OpusTags" {
			return
		}
	}
	if len(p) > 0 {
		o.packets = append(o.packets, append([]byte(nil), p...))
	}
}

// time holds the packets of a page against where it says they end.
func (o *opusReader) time(p oggPage, jump bool) {
	var frames int64
	for _, b := range o.packets {
		frames += int64(opusFrames(b))
	}
	start := p.granule - frames
	if !o.begun {
		// RFC 7845 §4.3 to 4.5: the count may begin anywhere; less than
		// nothing on a page that is also the last means cut at the end.
		o.begun = true
		o.pos = max(start, 0)
		o.head.preSkip += o.pos
	}
	if gap := start - o.pos; gap > 0 && gap <= opusMaxHole && jump {
		o.hole += gap
		o.lost += gap
		o.pos += gap
	} else if !p.last {
		o.shift(start)
	}
	if p.last && p.granule < o.pos+frames {
		o.stop = p.granule
	}
}

// shift follows a count that disagrees with the packets without a loss.
func (o *opusReader) shift(start int64) {
	o.head.preSkip += start - o.pos
	o.pos = start
}

// opusFrames gives the duration of a packet at 48 kHz, RFC 6716 §3.1; 0 if
// it breaks the rules.
func opusFrames(p []byte) int {
	config := int(p[0] >> 3)
	var one int
	switch {
	case config < 12:
		one = [4]int{480, 960, 1920, 2880}[config&3]
	case config < 16:
		one = [2]int{480, 960}[config&1]
	default:
		one = 120 << (config & 3)
	}
	n := 1
	switch p[0] & 3 {
	case 1, 2:
		n = 2
	case 3:
		if len(p) < 2 {
			return 0
		}
		n = int(p[1] & 63)
	}
	if n*one > opusMaxFrames {
		return 0
	}
	return n * one
}

// decode decodes one packet into out.
func (o *opusReader) decode(p []byte) {
	want := opusFrames(p)
	var n int
	err := guard(func() (err error) {
		n, err = o.dec.DecodeToFloat32(p, o.pcm)
		return err
	})
	if err != nil || n != want {
		o.hole += int64(want)
		o.lost += int64(want)
		o.pos += int64(want)
		return
	}
	from, to := int64(0), int64(n)
	from = min(max(o.head.preSkip-o.pos, 0), to)
	if o.stop >= 0 {
		to = max(min(to, o.stop-o.pos), from)
	}
	o.pos += int64(n)
	ch := int64(o.format.Channels)
	o.out = o.pcm[from*ch : to*ch]
	if o.head.gain != 1 {
		for i := range o.out {
			o.out[i] *= o.head.gain
		}
	}
	o.amiss.quantise(o.out, o.out)
}
