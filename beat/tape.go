package beat

import (
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
	// blockCells is how many cells are filtered at a time.
	blockCells = 512
	// keepWanted is how much sound stays at hand for a second look.
	keepWanted unit.Seconds = 32
)

// tape is the last stretch of one channel, as samples and, where asked for,
// as band energies on the grid. Cells are numbered from the first sample of
// the sound.
type tape struct {
	bank    *dsp.Bank
	samples []float32
	start   int64 // index of samples[0]
	keep    int64
	blocks  map[int64][][]float32
}

func newTape(rate unit.Hertz, keep unit.Seconds) *tape {
	b := dsp.NewBank(rate, bands, cellWanted)
	return &tape{bank: b, keep: int64(float64(keep) * float64(rate)), blocks: map[int64][][]float32{}}
}

func (t *tape) cell() float64 { return float64(t.bank.Cell()) }

// end is the number of samples seen so far.
func (t *tape) end() int64 { return t.start + int64(len(t.samples)) }

// endCell is the number of whole cells seen so far.
func (t *tape) endCell() int64 { return t.end() / int64(t.bank.Step) }

// firstCell is the oldest cell whose block can still be filtered.
func (t *tape) firstCell() int64 {
	if t.start == 0 {
		return 0
	}
	block := int64(blockCells * t.bank.Step)
	return ((t.start+int64(t.bank.Warm))/block + 1) * blockCells
}

func (t *tape) push(x []float32) {
	t.samples = append(t.samples, x...)
	if extra := int64(len(t.samples)) - t.keep; extra > t.keep/4 {
		n := copy(t.samples, t.samples[extra:])
		t.samples = t.samples[:n]
		t.start += extra
		first := t.firstCell() / blockCells
		for k := range t.blocks {
			if k < first {
				delete(t.blocks, k)
			}
		}
	}
}

// block gives the energies of block k, by band; the last block of a sound may
// be short.
func (t *tape) block(k int64) [][]float32 {
	if b, ok := t.blocks[k]; ok {
		return b
	}
	step := int64(t.bank.Step)
	from := k*blockCells*step - int64(t.bank.Warm)
	to := min((k+1)*blockCells*step, t.end())
	x := make([]float32, to-from)
	if lead := t.start - from; lead > 0 {
		copy(x[min(lead, int64(len(x))):], t.samples[:max(0, to-t.start)])
	} else {
		copy(x, t.samples[from-t.start:to-t.start])
	}
	out := make([][]float32, len(t.bank.Bands))
	flat := make([]float32, len(out)*blockCells)
	for i := range out {
		out[i] = flat[i*blockCells : (i+1)*blockCells]
	}
	n := t.bank.Energies(x, out)
	if n == blockCells {
		t.blocks[k] = out
	}
	return out
}

// energies copies cells [from, from+n) of every band to dst; cells before the
// sound or after its end are zero.
func (t *tape) energies(from int64, n int, dst [][]float32) {
	for b := range dst {
		clear(dst[b][:n])
	}
	first, last := max(from, t.firstCell()), min(from+int64(n), t.endCell())
	for c := first; c < last; {
		k := c / blockCells
		hi := min((k+1)*blockCells, last)
		block := t.block(k)
		for b := range dst {
			copy(dst[b][c-from:hi-from], block[b][c-k*blockCells:hi-k*blockCells])
		}
		c = hi
	}
}
