package demo

import (
	"sync"
	"time"
)

// Clock is one that can be set, so that what the record dates while the
// workshop is filled lies where it belongs in the past weeks. Let go, it shows
// the present.
type Clock struct {
	present func() time.Time

	mu  sync.Mutex
	set time.Time // zero: let go
}

// NewClock gives a clock that shows what present says until it is set.
func NewClock(present func() time.Time) *Clock { return &Clock{present: present} }

// Now is the time that the clock shows.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.set.IsZero() {
		return c.present()
	}
	return c.set
}

// Set puts the clock at a time, where it stands.
func (c *Clock) Set(t time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.set = t
}

// LetGo makes the clock show the present again.
func (c *Clock) LetGo() { c.Set(time.Time{}) }
