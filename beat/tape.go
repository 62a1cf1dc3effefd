package beat

import (
	"math"
	"slices"
	"sync"
	"sync/atomic"

	"beatwright/dsp"
	"beatwright/unit"
)

// bands are where beats sound. In lever watches recorded at 96 kHz the
// unlocking was strongest at 4–12 kHz and the drop at 12–16 kHz; clocks sound
// lower. Each band is weighed against its own noise, so one that holds only
// noise costs little.
var bands = []dsp.Band{{Low: 1800, High: 3800}, {Low: 3800, High: 7000}, {Low: 7000, High: 12000}, {Low: 12000, High: 20000}}

const (
	// cellWanted is the grid on which beats are cut and dated. Envelopes
	// smoothed to about three cells are dated far below one cell.
	cellWanted unit.Seconds = 42e-6
	// halfFrame is half of a frame, a tenth of a second, which is filtered in
	// two halves side by side.
	halfFrame unit.Seconds = 0.05
	lanes                  = dsp.Lanes
)

// frame is the energy of every band in a tenth of a second, cell by cell, and
// the first cell of the frame after it.
type frame []float32

// tape is the last stretch of one channel as band energies on the grid. Cells
// are numbered from the first sample of the sound. Samples are filtered by one
// goroutine while another may look at the frames shown: what is seen depends
// on the count of frames shown alone.
type tape struct {
	bank    *dsp.Bank
	cells   int         // of a frame
	let     atomic.Bool // let go: another channel is followed
	samples []float32   // not yet filtered, with the warm-up before them
	frames  []frame     // shown; the last may be short
	first   int64       // number of frames[0]
	short   int         // cells of the short last frame, 0 if it is whole
}

// framePool keeps frames for use again; each is filled before it is read.
var framePool sync.Pool

// newFrame is memory for a frame, of any contents.
func (t *tape) newFrame() frame {
	n := lanes * (t.cells + 1)
	if f, ok := framePool.Get().(*frame); ok && len(*f) == n {
		return *f
	}
	return make(frame, n)
}

func newTape(rate unit.Hertz) *tape {
	t := &tape{bank: dsp.NewBank(rate, bands, cellWanted)}
	t.cells = 2 * int(math.Round(float64(halfFrame/t.bank.Cell())))
	t.samples = make([]float32, t.bank.Warm)
	return t
}

func (t *tape) cell() float64 { return float64(t.bank.Cell()) }

// endCell is the number of whole cells shown so far.
func (t *tape) endCell() int64 {
	n := (t.first + int64(len(t.frames))) * int64(t.cells)
	if t.short > 0 {
		n += int64(t.short - t.cells)
	}
	return n
}

// firstCell is the oldest cell in hand.
func (t *tape) firstCell() int64 { return t.first * int64(t.cells) }

// take adds one channel of interleaved sound.
func (t *tape) take(x []float32, channel, channels int) {
	if channels == 1 {
		t.samples = append(t.samples, x...)
		return
	}
	for i := channel; i < len(x); i += channels {
		t.samples = append(t.samples, x[i])
	}
}

// whole is the number of whole frames waiting to be filtered.
func (t *tape) whole() int {
	return (len(t.samples) - t.bank.Warm) / (t.cells * t.bank.Step)
}

// atOnce is how many frames are best filtered together: their halves fill the
// bank.
const atOnce = 4

// filter fills fs, atOnce at most, with the frames waiting from the i-th on. It
// may run beside others.
func (t *tape) filter(i int, fs []frame) {
	cells := t.cells / 2
	half := cells * t.bank.Step
	var x, e [2 * atOnce][]float32
	for j, f := range fs {
		s := t.samples[2*(i+j)*half:]
		x[2*j], x[2*j+1] = s, s[half:]
		e[2*j], e[2*j+1] = f, f[lanes*cells:]
		clear(f[lanes*t.cells:])
	}
	t.bank.Energies(x[:2*len(fs)], e[:2*len(fs)], cells)
}

// filtered lets go of the samples of n frames.
func (t *tape) filtered(n int) {
	used := n * t.cells * t.bank.Step
	t.samples = t.samples[:copy(t.samples, t.samples[used:])]
}

// letGo has the channel no longer followed.
func (t *tape) letGo() {
	t.let.Store(true)
	t.frames, t.first = nil, 0
}

// rest filters what is left at the end of the sound as a short frame.
func (t *tape) rest() {
	cells := (len(t.samples) - t.bank.Warm) / t.bank.Step
	if cells == 0 {
		return
	}
	t.samples = append(t.samples, make([]float32, t.cells*t.bank.Step)...)
	f := t.newFrame()
	t.filter(0, []frame{f})
	clear(f[lanes*cells:])
	t.show(f, 0)
	t.short = cells
}

// show adds a frame to what is seen, of which keep frames stay, all if 0.
func (t *tape) show(f frame, keep int) {
	if n := len(t.frames); n > 0 {
		copy(t.frames[n-1][lanes*t.cells:], f[:lanes])
	}
	t.frames = append(t.frames, f)
	if extra := len(t.frames) - keep; keep > 0 && extra > 0 {
		for _, old := range t.frames[:extra] {
			framePool.Put(&old)
		}
		t.frames = t.frames[:copy(t.frames, t.frames[extra:])]
		t.first += int64(extra)
	}
}

// oldest is the first cell that stays in hand once another frame is shown.
func (t *tape) oldest(keep int) int64 {
	return (t.first + int64(max(0, len(t.frames)+1-keep))) * int64(t.cells)
}

// still is the tape as it is now, to be looked at while more is shown; the
// cell after the last may not be.
func (t *tape) still() *tape {
	return &tape{bank: t.bank, cells: t.cells, frames: slices.Clone(t.frames), first: t.first, short: t.short}
}

// spans calls visit for the pieces of cells [from, from+n) that are in hand,
// in order: at is the place of the piece in that stretch, and e holds its
// cells and one more.
func (t *tape) spans(from int64, n int, visit func(at int, e []float32)) {
	first, last := max(from, t.firstCell()), min(from+int64(n), t.endCell())
	cells := int64(t.cells)
	for c := first; c < last; {
		k := c / cells
		hi := min((k+1)*cells, last)
		at := c - k*cells
		visit(int(c-from), t.frames[k-t.first][lanes*at:lanes*(at+hi-c+1)])
		c = hi
	}
}
