package sound

// window counts, over about the last so many frames, those that were marked.
// It moves in steps, and where the steps fall depends on the count of frames
// alone, so that it does not matter in what portions they came.
type window struct {
	step   int64
	marked [doorBlocks]int64
	now    int   // the block being filled
	filled int64 // frames in it
	full   int   // whole blocks before it, at most doorBlocks−1
	total  int64 // marked in all of them
}

func newWindow(frames int64) window {
	return window{step: max(frames/doorBlocks, 1)}
}

// add counts n frames, marked of them being marked: all or none.
func (w *window) add(n, marked int64) {
	for n > 0 {
		k := min(n, w.step-w.filled)
		if marked > 0 {
			w.marked[w.now] += k
			w.total += k
		}
		w.filled += k
		n -= k
		if w.filled == w.step {
			w.turn()
		}
	}
}

// turn begins the next block, over the oldest.
func (w *window) turn() {
	w.now = (w.now + 1) % doorBlocks
	w.total -= w.marked[w.now]
	w.marked[w.now], w.filled = 0, 0
	w.full = min(w.full+1, doorBlocks-1)
}

// sum gives the marked frames and all frames in the window.
func (w *window) sum() (marked, frames int64) {
	return w.total, int64(w.full)*w.step + w.filled
}
