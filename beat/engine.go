package beat

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"beatwright/unit"
)

// Break says why one run ended and the next began, or the sound ended.
type Break string

// The breaks.
const (
	Lost Break = "lost" // no more beats where they were due
	End  Break = "end"  // the sound ended
)

// Run is a stretch of beats in which none was miscounted.
type Run struct {
	Segments []*Segment
	// Period is the full period by the line through its last beats.
	Period unit.Seconds
	// Shift is the phase step from the run before, as the lag of the new
	// beats behind the old line, nearest to none; NaN if the watch was found
	// anew.
	Shift unit.Seconds
	// Ended says how the run ended.
	Ended Break
	// Hum says that the mains' rhythm had to be taken out of the search.
	Hum   bool
	Bands []float64 // floor by band, mean square
	// Beside is another watch that was heard in it, nil if none was.
	Beside *Neighbour

	kept int // beats, once it is finished
}

// Refused tells what was heard instead of a watch while searching.
type Refused struct {
	Seconds  unit.Seconds // searched
	Stepping unit.Seconds // period of single steps, 0 if none
	Periodic bool         // a periodic sound was found that is no watch
}

const (
	tryEvery      = 0.5
	longestSearch = 8.0
	// relockSec is how long a lost watch is looked for by its own sound
	// before the search starts anew.
	relockSec = 4.0
)

// Engine turns samples into runs of dated beats.
type Engine struct {
	channels int
	tapes    []*tape
	chosen   *tape
	long     []*Run // the finished ones that have their profiles
	out      []*Run
	run      *run // followed now
	lostAt   int64
	from     int64 // search begins here, cells
	tried    int64
	refused  Refused
	segment  unit.Seconds
	keepAll  bool
	watcher  Watcher
	// KeepBeats has every beat kept, however long the hearing; else those of
	// more than an hour or two are joined, a few of one side to one. To be set
	// before the first sound.
	KeepBeats bool
}

// SegmentEvery sets the length of segments, which begin at its multiples and
// are all kept; to be called before the first sound. Without it they are five
// seconds long, and merge as a hearing grows.
func (e *Engine) SegmentEvery(d unit.Seconds) { e.segment, e.keepAll = d, true }

// New prepares an engine for interleaved sound.
func New(rate unit.Hertz, channels int) *Engine {
	e := &Engine{segment: segmentSec, channels: channels}
	for range channels {
		e.tapes = append(e.tapes, newTape(rate))
	}
	return e
}

// Push takes any number of whole interleaved frames.
func (e *Engine) Push(x []float32) {
	most := aheadFrames * e.tapes[0].cells * e.tapes[0].bank.Step * e.channels
	for len(x) > 0 {
		n := min(most, len(x))
		e.Take(x[:n])
		for f := e.Filter(); f != nil; f = e.Filter() {
			e.Follow(f)
		}
		x = x[n:]
	}
}

// aheadFrames is how much is filtered at once, at most: 1.6 s.
const aheadFrames = 16

// Filtered is sound that was filtered and whose beats are to be followed.
type Filtered struct {
	frames [][]frame // by channel; none of one that was let go
	n      int
}

// Take adds whole interleaved frames to what Filter is to filter.
func (e *Engine) Take(x []float32) {
	for c, t := range e.tapes {
		if !t.let.Load() {
			t.take(x, c, e.channels)
		}
	}
}

// Filter does the part of Push that needs nothing of the beats, on all cores,
// with what was taken, and gives what Follow is to have, in turn; nil if that
// is nothing yet. Of much it leaves a little to be filtered with what comes
// next: at the end it is to be called until it gives nil. One goroutine may take
// and filter while another follows.
func (e *Engine) Filter() *Filtered {
	f := &Filtered{frames: make([][]frame, len(e.tapes))}
	var jobs []func()
	for c, t := range e.tapes {
		if t.let.Load() {
			continue
		}
		n := t.whole()
		if n > atOnce {
			n -= n % atOnce
		}
		f.n = max(f.n, n)
		fs := make([]frame, n)
		for i := range fs {
			fs[i] = t.newFrame()
		}
		for i := 0; i < n; i += atOnce {
			jobs = append(jobs, func() { t.filter(i, fs[i:min(i+atOnce, n)]) })
		}
		f.frames[c] = fs
	}
	if f.n == 0 {
		return nil
	}
	together(jobs)
	for c, t := range e.tapes {
		t.filtered(len(f.frames[c]))
	}
	return f
}

// Follow takes what Filter gave and follows the beats through it frame by
// frame.
func (e *Engine) Follow(f *Filtered) {
	for i := range f.n {
		keep := e.keep()
		if e.run != nil {
			e.run.kept.spare(e.chosen.oldest(keep))
		}
		for c, t := range e.tapes {
			if !t.let.Load() {
				t.show(f.frames[c][i], keep)
			}
		}
		e.step()
	}
}

// together does all jobs, on all cores where there are several.
func together(jobs []func()) {
	workers := min(runtime.GOMAXPROCS(0), len(jobs)/2)
	if workers < 2 {
		for _, do := range jobs {
			do()
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for i := next.Add(1) - 1; i < int64(len(jobs)); i = next.Add(1) - 1 {
				jobs[i]()
			}
		})
	}
	wg.Wait()
}

const (
	// keepLong is how much sound stays at hand until the first segments have
	// been dated again, keepShort otherwise: what a search looks at, and a
	// segment with what may follow it until it is closed.
	keepLong  = 36.0
	keepShort = 12.0
)

// keep is how many frames stay at hand.
func (e *Engine) keep() int {
	sec := keepShort
	if e.run != nil && !e.run.settled {
		sec = keepLong
	}
	return int(sec/e.tapes[0].cell()) / e.tapes[0].cells
}

// Close works off what is left, and lets go of the sound.
func (e *Engine) Close() {
	defer e.letGo()
	for _, t := range e.tapes {
		if !t.let.Load() {
			t.rest()
		}
	}
	e.step()
	if e.run == nil {
		if e.chosen == nil || e.endCell()-e.from > 0 {
			e.search(true)
		}
	}
	if e.run == nil {
		return
	}
	if e.lostAt == 0 {
		e.run.track()
	}
	if e.run.missed >= 2 || e.lostAt > 0 {
		e.lastLook()
	}
	e.finish(End)
}

// letGo leaves of the engine what it has to tell: a reading of many beats needs
// the room.
func (e *Engine) letGo() {
	for _, t := range e.tapes {
		t.letGo()
		t.samples = nil
	}
}

// lastLook seeks a watch whose beats stopped coming just before the sound
// ended: too late to be called lost, perhaps moved.
func (e *Engine) lastLook() {
	e.run.cut()
	n := len(e.run.beats)
	if n == 0 {
		return
	}
	from := int64(e.run.beats[n-1].at) + int64(e.run.l.post)
	next, shift, ok := e.run.relock(from)
	switch {
	case !ok:
	case math.Abs(shift)*e.run.c.tape.cell() < sameBeat:
		e.resume(next)
	default:
		e.finish(Lost)
		e.start(next, shift)
	}
}

// Runs is what was heard so far, in order.
func (e *Engine) Runs() []*Run { return e.out }

// Refused is what the search met.
func (e *Engine) Refused() Refused { return e.refused }

func (e *Engine) endCell() int64 {
	if e.chosen != nil {
		return e.chosen.endCell()
	}
	return e.tapes[0].endCell()
}

func (e *Engine) step() {
	switch {
	case e.run == nil:
		e.search(false)
	case e.lostAt > 0:
		e.seekAgain()
	default:
		if !e.run.track() {
			e.run.cut()
			e.lostAt = int64(e.run.beats[len(e.run.beats)-1].at) + int64(e.run.l.post)
		}
	}
}

func (e *Engine) cells(sec float64) int64 { return int64(sec / e.tapes[0].cell()) }

// search tries to find a watch, every half second: in the last two and a half
// seconds, and in all since the search began (8 to 10 s at most).
func (e *Engine) search(final bool) {
	end := e.endCell()
	if !final && end-e.tried < e.cells(tryEvery) {
		return
	}
	e.tried = end
	if end-e.from > e.cells(longestSearch+2) {
		e.from = end - e.cells(longestSearch)
	}
	spans := []int64{end - e.from}
	if short := e.cells(2.5); spans[0] > short+e.cells(0.4) {
		spans = append(spans, short)
	}
	if spans[0] < e.cells(1.8) && !final {
		return
	}
	for _, span := range spans {
		if r := e.attempt(end-span, end); r != nil {
			e.adopt(r)
			return
		}
	}
}

// attempt tries all channels and gives the run with the clearest template.
func (e *Engine) attempt(from, to int64) *run {
	var best *run
	clearest := 0.0
	for _, t := range e.tapes {
		if t.let.Load() {
			continue
		}
		n := int(to-from) / coarse
		if float64(n)*coarse*t.cell() < 0.8 {
			return nil
		}
		f, ok := acquire(t, from, n)
		e.refused.note(f, ok, t.cell(), float64(to-from)*t.cell())
		if !ok || f.Phase == [2]float64{} {
			continue
		}
		r, ok := lock(t, f, from, to)
		if !ok {
			continue
		}
		if p := r.tmpl[0].power + r.tmpl[1].power; p > clearest {
			best, clearest = r, p
		}
	}
	return best
}

// note keeps what a search of span seconds met. In shorter spans chance alone
// makes periods.
func (r *Refused) note(f find, ok bool, cell, span float64) {
	const tellingSpan, telling = 4.5, 6.0
	if !ok || span < tellingSpan || f.Strength < telling {
		return
	}
	r.Periodic = true
	if T := f.T * cell; f.Single && f.Phase == [2]float64{} && math.Abs(T-1) < 0.02 && f.Present >= 0.8 {
		r.Stepping = unit.Seconds(T)
	}
}

// adopt begins to follow r; the other channels are let go.
func (e *Engine) adopt(r *run) {
	e.chosen = r.c.tape
	e.start(r, math.NaN())
	for _, t := range e.tapes {
		if t != e.chosen {
			t.letGo()
		}
	}
}

func (e *Engine) start(r *run, shift float64) {
	e.run, e.lostAt = r, 0
	r.segCells = float64(e.segment) / r.c.tape.cell()
	r.kept = &keeper{all: e.keepAll, beats: e.KeepBeats, watcher: e.watcher}
	e.out = append(e.out, &Run{Shift: unit.Seconds(shift * e.chosen.cell())})
}

// finish closes the run that was followed.
func (e *Engine) finish(why Break) {
	r, o := e.run, e.out[len(e.out)-1]
	r.cut()
	r.closeDue()
	r.closeSegment(len(r.beats))
	r.settle()
	r.kept.wait()
	if !r.steadyEnough() {
		e.out = e.out[:len(e.out)-1]
		e.refused.Periodic = true
		e.run, e.lostAt, e.from = nil, 0, e.endCell()
		return
	}
	o.Segments, o.Hum, o.Beside = r.kept.segs, r.hum, r.beside
	o.kept = keptOf(o.Segments)
	e.lighten(o)
	o.Period = unit.Seconds(2 * r.line.Slope * r.c.tape.cell())
	o.Ended = why
	e.run, e.lostAt = nil, 0
	e.from = e.endCell()
}

// profiled is how many runs keep their profiles: a reading is of the longest steady
// stretch, and the longest run may be cut by what changed in it.
const profiled = 2

// lighten lets go of the profiles of all finished runs but the longest, o the newest.
func (e *Engine) lighten(o *Run) {
	if e.keepAll {
		return
	}
	e.long = append(e.long, o)
	if len(e.long) <= profiled {
		return
	}
	least := 0
	for i, r := range e.long {
		if r.kept <= e.long[least].kept {
			least = i
		}
	}
	for _, s := range e.long[least].Segments {
		s.Profile = [2]Profile{}
	}
	e.long = slices.Delete(e.long, least, least+1)
}

// keptOf is how many beats of segments were kept.
func keptOf(segs []*Segment) (n int) {
	for _, s := range segs {
		for _, b := range s.Beats {
			if b.Why == "" {
				n += b.Count()
			}
		}
	}
	return n
}

// seekAgain looks for the lost watch by its own sound.
func (e *Engine) seekAgain() {
	end := e.endCell()
	if end-e.tried < e.cells(tryEvery) {
		return
	}
	e.tried = end
	from := max(e.lostAt, end-e.cells(3))
	next, shift, ok := e.run.relock(from)
	if !ok {
		if end-e.lostAt > e.cells(relockSec) {
			at := e.lostAt
			e.finish(Lost)
			e.from = max(at, end-e.cells(longestSearch))
		}
		return
	}
	if math.Abs(shift)*e.run.c.tape.cell() < sameBeat {
		e.resume(next)
		return
	}
	e.finish(Lost)
	e.start(next, shift)
}

// sameBeat is how near its old line a watch must be found again for the run
// to go on uncounted, s: a knock is not a turn.
const sameBeat = 0.0015

// resume goes on with the run after a stretch that hid its beats.
func (e *Engine) resume(next *run) {
	r := e.run
	for _, b := range next.beats {
		if b.k > r.beats[len(r.beats)-1].k {
			r.beats = append(r.beats, b)
		}
	}
	r.missed, r.weak, e.lostAt = 0, 0, 0
	r.refit(lineBeats)
}
