package web

import (
	"sync"
	"time"
)

// progress is how far each sound that is being measured has got, under a name
// that the page chose.
type progress struct {
	mu sync.Mutex
	of map[string]heardSoFar
}

// heardSoFar is how much of a sound was heard, in seconds; Total is 0 where
// the length is not known.
type heardSoFar struct {
	Done  float64 `json:"done_s"`
	Total float64 `json:"total_s"`
	at    time.Time
}

const (
	maxTasks   = 100
	taskLapses = time.Hour
)

func (p *progress) set(task string, done, total float64, now time.Time) {
	if task == "" || len(task) > 64 {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.of == nil {
		p.of = map[string]heardSoFar{}
	}
	for k, v := range p.of {
		if now.Sub(v.at) > taskLapses || len(p.of) > maxTasks {
			delete(p.of, k)
		}
	}
	p.of[task] = heardSoFar{done, total, now}
}

func (p *progress) get(task string) (heardSoFar, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	h, ok := p.of[task]
	return h, ok
}

func (p *progress) done(task string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.of, task)
}
