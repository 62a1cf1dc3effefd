package live

import (
	"encoding/json"
	"sync"
	"sync/atomic"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/sound"
	"beatwright/unit"
)

// sittingMark is the kind of the mark that says what growing sound is of.
const sittingMark = "sitting"

// keptOf says what a growing sound is of, so that it can find its place in the
// record after a crash.
type keptOf struct {
	Job      beatwright.ID `json:"job"`
	Round    beatwright.ID `json:"round"`
	Position string        `json:"position,omitempty"`
	Repeat   bool          `json:"repeat,omitempty"`
	Device   string        `json:"device,omitempty"`
	At       time.Time     `json:"at"`
	// Taken is said with the last sample: the position was taken as heard, under
	// this note and by that person.
	Taken bool   `json:"taken,omitempty"`
	Note  string `json:"note,omitempty"`
	Who   string `json:"who,omitempty"`
}

// keeper writes the sound of one lying into the folder while it is heard. It
// works beside the ear: a slow disk must not stop the listening.
type keeper struct {
	of      keptOf
	id      string
	lying   int
	next    int64 // index in the ear of the first sample not handed on yet
	rate    unit.Hertz
	durable atomic.Int64

	mu      sync.Mutex
	wake    *sync.Cond
	waiting [][]float32
	marks   []files.Mark
	ending  bool
	err     error
	name    files.Name
	done    chan struct{}
}

// syncEvery is how much sound may be lost in a crash.
const syncEvery unit.Seconds = 1

func newKeeper(f *files.Folder, id string, rate unit.Hertz, of keptOf) (*keeper, error) {
	g, err := f.Incoming(id)
	if err != nil {
		return nil, err
	}
	w, err := sound.NewFLACWriter(g, sound.Format{Rate: rate, Channels: 1, Bits: 24})
	if err != nil {
		g.Close()
		return nil, disk(err)
	}
	k := &keeper{id: id, rate: rate, done: make(chan struct{})}
	k.wake = sync.NewCond(&k.mu)
	k.is(of)
	if err := g.Mark(k.marks[0]); err != nil {
		g.Close()
		return nil, disk(err)
	}
	k.marks = nil
	go k.run(g, w)
	return k, nil
}

// is says what the sound is of; it may be said anew while it is kept.
func (k *keeper) is(of keptOf) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.say(of)
}

// last says it with the last sample, and ends the keeping.
func (k *keeper) last(of keptOf) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.say(of)
	k.ending = true
	k.wake.Signal()
}

func (k *keeper) say(of keptOf) {
	text, err := json.Marshal(of)
	if err != nil {
		panic("live: " + err.Error()) // words and a time
	}
	k.of = of
	k.marks = append(k.marks, files.Mark{Kind: sittingMark, Text: string(text)})
}

// take has more sound written; x must not change afterwards.
func (k *keeper) take(x []float32) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if len(x) > 0 && k.err == nil && !k.ending {
		k.waiting = append(k.waiting, x)
		k.wake.Signal()
	}
}

// end completes the file and gives its name; with an error the sound stays in
// incoming as far as it came.
func (k *keeper) end() (files.Name, error) {
	k.mu.Lock()
	k.ending = true
	k.wake.Signal()
	k.mu.Unlock()
	<-k.done
	return k.name, k.err
}

func (k *keeper) run(g *files.Growing, w *sound.FLACWriter) {
	defer close(k.done)
	defer g.Close()
	var written, synced int64
	for {
		k.mu.Lock()
		for len(k.waiting) == 0 && !k.ending {
			k.wake.Wait()
		}
		xs, marks, ending := k.waiting, k.marks, k.ending
		k.waiting, k.marks = nil, nil
		k.mu.Unlock()
		err := func() error {
			for _, x := range xs {
				if err := w.Write(x); err != nil {
					return err
				}
				written += int64(len(x))
			}
			if ending {
				if err := w.Close(); err != nil {
					return err
				}
			}
			// After the sound: that it was taken must not be said of less.
			for _, m := range marks {
				m.Sample = written
				if err := g.Mark(m); err != nil {
					return err
				}
			}
			if ending {
				name, err := g.Finish(written)
				if err == nil {
					k.name = name
					k.durable.Store(written)
				}
				return err
			}
			if written-synced < int64(float64(syncEvery)*float64(k.rate)) {
				return nil
			}
			synced = written
			if err := w.Flush(); err != nil {
				return err
			}
			whole := w.Written()
			if err := g.Sync(whole); err != nil {
				return err
			}
			k.durable.Store(whole)
			return nil
		}()
		if err != nil {
			k.mu.Lock()
			k.err, k.waiting = err, nil
			k.mu.Unlock()
		}
		if err != nil || ending {
			return
		}
	}
}

// failed is why nothing more is kept, nil if all is well.
func (k *keeper) failed() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.err
}
