package sound

import (
	"beatwright/dsp"
	"beatwright/unit"
)

// Bounds of what the Door takes for an insertion. A browser or sound system
// that ran short puts in whole blocks of exact zeros: 441 were seen at
// 44 100 Hz, and 128 frames is the smallest block a browser renders. The
// other bounds are chosen so that silence that belongs to the sound stays:
// noise-free simulations and gated recordings have exact zeros all the time.
const (
	minInsertion                 = 128  // frames
	maxInsertion    unit.Seconds = 0.5  // longer is a gap, the engine's matter
	leastHistory    unit.Seconds = 0.25 // heard before the first insertion
	doorZeroWindow  unit.Seconds = 1    // handed-on sound looked back upon
	doorRunWindow   unit.Seconds = 2    // source looked back upon
	doorMaxZeros                 = 0.1  // fraction of zero frames in the first
	doorMaxRuns                  = 0.1  // fraction in runs of zeros in the second
	doorBlocks                   = 50   // steps in which the windows move
	doorZeroesAhead              = 2048 // samples of zeros handed on at a time
)

// Piece is a run of samples that follow each other without a break.
type Piece struct {
	// Samples are interleaved frames; they may be used only until emit returns.
	Samples []float32
	// CutBefore is the number of frames of exact zeros removed just before
	// this piece as an insertion; usually 0.
	CutBefore int64
	// At is the index of the first frame in the source stream, insertions
	// counted.
	At int64
}

// Door is where sound enters the engine: it puts samples on the 24-bit grid
// and takes out insertions, which are runs of 128 or more frames with every
// channel exactly zero, inside a stream in which exact zeros are otherwise
// rare. What it hands on does not depend on how the stream was cut into
// pushes, except for where one piece ends and the next begins without a cut.
//
//	sound  ~~~~~~~~~~~~~000000000~~~~~~~~~~~~
//	out    [~~~~~~~~~~~~]        [~~~~~~~~~~~] CutBefore 9
//
// It holds back a run of zeros, as a number, until it knows what it is: half
// a second at most.
type Door struct {
	channels int
	onGrid   bool  // stored with at most 24 bits: nothing to mend
	longest  int64 // frames an insertion may have
	history  int64 // frames heard before the first
	zeros    window
	runs     window
	buf      []float32
	nothing  []float32
	at       int64 // source index of the next frame to be looked at
	out      int64 // frames handed on
	run      int64 // zeros at the end of what came, held back or not
	maybe    bool  // the run may be an insertion, and is held back
	cut      int64 // cut and not yet told
	amiss    amiss
}

// NewDoor makes a Door for a stream; only rate, channels and bits matter.
func NewDoor(f Format) *Door {
	channels := max(f.Channels, 1)
	frames := func(s unit.Seconds) int64 { return max(int64(float64(s)*float64(f.Rate)), doorBlocks) }
	return &Door{
		channels: channels,
		onGrid:   f.Bits > 0,
		longest:  frames(maxInsertion),
		history:  frames(leastHistory),
		zeros:    newWindow(frames(doorZeroWindow)),
		runs:     newWindow(frames(doorRunWindow)),
		nothing:  make([]float32, max(doorZeroesAhead/channels, 1)*channels),
	}
}

// Warnings tells what was mended on the way to the grid.
func (d *Door) Warnings() []string { return d.amiss.warnings() }

// Push takes whole interleaved frames and hands on what is settled. It does
// not change frames.
func (d *Door) Push(frames []float32, emit func(Piece)) {
	n := len(frames) / d.channels * d.channels
	s := frames[:n]
	if !d.onGrid {
		if cap(d.buf) < n {
			d.buf = make([]float32, n)
		}
		s = d.buf[:n]
		d.amiss.quantise(s, frames)
	}
	for len(s) > 0 {
		if k := d.sounding(s); k > 0 {
			d.settle(emit)
			d.hand(s[:k], emit)
			s = s[k:]
		}
		k := d.silent(s)
		d.still(k, emit)
		s = s[k:]
	}
}

// Flush ends the stream: zeros at its end belong to it.
func (d *Door) Flush(emit func(Piece)) {
	if d.maybe {
		d.release(emit)
	}
	d.run = 0
}

// sounding gives the length, in samples, of the frames at the start of s
// that are not silent.
func (d *Door) sounding(s []float32) int {
	if d.channels == 1 {
		return dsp.Zero(s)
	}
	i := 0
	for i < len(s) {
		if s[i] == 0 && allZero(s[i:i+d.channels]) {
			break
		}
		i += d.channels
	}
	return i
}

// silent gives the length, in samples, of the silent frames at the start of s.
func (d *Door) silent(s []float32) int {
	for i, x := range s {
		if x != 0 {
			return i / d.channels * d.channels
		}
	}
	return len(s)
}

func allZero(s []float32) bool {
	for _, x := range s {
		if x != 0 {
			return false
		}
	}
	return true
}

// still takes k samples of silence.
func (d *Door) still(k int, emit func(Piece)) {
	n := int64(k / d.channels)
	if n == 0 {
		return
	}
	if d.run == 0 {
		d.maybe = d.zerosRare()
	}
	d.run += n
	d.at += n
	if d.maybe && d.run > d.longest {
		d.release(emit)
	} else if !d.maybe {
		d.emitZeros(d.at-n, n, emit)
	}
}

// zerosRare says whether exact zeros have been rare enough up to here for a
// run of them to be no part of the sound.
func (d *Door) zerosRare() bool {
	z, zn := d.zeros.sum()
	r, rn := d.runs.sum()
	return d.out >= d.history &&
		float64(z) < doorMaxZeros*float64(zn) && float64(r) < doorMaxRuns*float64(rn)
}

// settle decides on the run that has just ended.
func (d *Door) settle(emit func(Piece)) {
	if d.run == 0 {
		return
	}
	long := d.run >= minInsertion
	switch {
	case d.maybe && long:
		d.cut += d.run
		d.maybe = false
	case d.maybe:
		d.release(emit)
	}
	if long {
		d.runs.add(d.run, d.run)
	} else {
		d.runs.add(d.run, 0)
	}
	d.run = 0
}

// release hands on the zeros held back.
func (d *Door) release(emit func(Piece)) {
	d.maybe = false
	d.emitZeros(d.at-d.run, d.run, emit)
}

// emitZeros hands on n frames of zeros that stand at index at.
func (d *Door) emitZeros(at, n int64, emit func(Piece)) {
	d.zeros.add(n, n)
	d.out += n
	for n > 0 {
		k := min(n, int64(len(d.nothing)/d.channels))
		emit(Piece{Samples: d.nothing[:k*int64(d.channels)], CutBefore: d.cut, At: at})
		d.cut = 0
		at += k
		n -= k
	}
}

// hand hands on sound that is not silent.
func (d *Door) hand(s []float32, emit func(Piece)) {
	n := int64(len(s) / d.channels)
	emit(Piece{Samples: s, CutBefore: d.cut, At: d.at})
	d.cut = 0
	d.at += n
	d.out += n
	d.zeros.add(n, 0)
	d.runs.add(n, 0)
}
