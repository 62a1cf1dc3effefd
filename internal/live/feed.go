package live

import (
	"errors"
	"fmt"

	"beatwright"
	"beatwright/ear"
	"beatwright/unit"
)

// Feed is where the sound of one page comes in.
type Feed struct {
	sitting *Sitting
	next    int64 // index of the next sample
	began   bool
}

// ErrElsewhere is the error of a page whose place another one took.
var ErrElsewhere = errors.New("the watch is heard in another window now; this one sends nothing more")

// Attach begins to take sound from a page; one that sent before is let go.
func (s *Sitting) Attach(d Device) (*Feed, error) {
	if !(d.RateHz >= 22050 && d.RateHz <= 768000) {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "rate", Text: fmt.Sprintf("%g samples a second are not heard; 22 050 to 768 000 are", float64(d.RateHz)), Do: "choose another input, or set this one to 44 100 or 48 000"}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if old := s.feed; old != nil && d.Capture != "" && d == s.device {
		// The same capture over a new connection: nothing is missing.
		s.feed = &Feed{sitting: s, next: old.next, began: old.began}
		return s.feed, nil
	}
	s.cut()
	old := s.ear
	s.ear = ear.New(d.RateHz)
	if old != nil {
		s.before += s.seconds(old.Done(), old.Rate())
		s.ear.After(old)
	}
	s.device, s.gone, s.coming, s.readAt, s.viewedAt = d, "", true, 0, 0
	s.feed = &Feed{sitting: s}
	s.show()
	return s.feed, nil
}

func (s *Sitting) seconds(n int64, rate unit.Hertz) unit.Seconds {
	return unit.Seconds(float64(n) / float64(rate))
}

// Push takes the samples from index first of this capture on; what came before
// is passed over, and a jump is a loss.
func (f *Feed) Push(first int64, x []float32) error {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed != f {
		return ErrElsewhere
	}
	if !f.began {
		f.began, f.next, s.first = true, first, first
	}
	switch gap := first - f.next; {
	case gap < 0:
		x = x[min(-gap, int64(len(x))):]
	case gap > 0:
		s.lose(gap)
		f.next = first
	}
	f.next += int64(len(x))
	s.stirred()
	s.ear.Push(x, s.hear)
	return nil
}

// longestLoss is the most that is counted as time; more is an interruption.
const longestLoss unit.Seconds = 60

func (s *Sitting) lose(n int64) {
	t := s.seconds(n, s.ear.Rate())
	s.lost += t
	if t > longestLoss {
		n = int64(float64(longestLoss) * float64(s.ear.Rate()))
	}
	s.ear.Lost(n)
}

// Next is the index of the next sample that is wanted, −1 for those that come
// from now on.
func (f *Feed) Next() int64 {
	f.sitting.mu.Lock()
	defer f.sitting.mu.Unlock()
	if !f.began {
		return -1
	}
	return f.next
}

// Speaking says whether the page's own voice is sounding: what is heard
// meanwhile is not the watch.
func (f *Feed) Speaking(on bool) {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed == f {
		s.ear.Deaf(on)
	}
}

// Durable is how many samples of what is being kept survive a crash.
func (f *Feed) Durable() int64 {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.keeper == nil {
		return 0
	}
	return s.keeper.durable.Load()
}

// Close ends the feed, and says why.
func (f *Feed) Close(why string) {
	s := f.sitting
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.feed != f {
		return
	}
	s.feed = nil
	if s.over() {
		s.before, s.ear = s.now(), nil // it holds minutes of sound
	}
	s.away(why)
}
