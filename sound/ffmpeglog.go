package sound

import (
	"bufio"
	"io"
	"regexp"
	"strings"
	"sync"
	"time"

	"beatwright/unit"
)

// ffmpegLog keeps of ffmpeg's messages what is needed: a few facts, the last
// errors, and how many there were.
type ffmpegLog struct {
	mu       sync.Mutex
	codec    string
	duration unit.Seconds
	last     string // the first error tells most
	count    int
	output   bool // it has begun to write
	ended    bool
}

var (
	// Lines that files cannot forge: what a file says of itself stands
	// further to the right.
	ffmpegMapping  = regexp.MustCompile(`^\[info\]   Stream #0:\d+ -> #0:0 \(([a-z0-9_]+)`)
	ffmpegDuration = regexp.MustCompile(`^\[info\]   Duration: (\d+:\d+:\d+\.\d+)`)
	ffmpegError    = regexp.MustCompile(`\[(?:error|fatal|panic)\] (.*)`)
	ffmpegPointer  = regexp.MustCompile(` @ 0x[0-9a-f]+`)
)

// follow reads messages until ffmpeg ends.
func (l *ffmpegLog) follow(r io.Reader) {
	b := bufio.NewReaderSize(r, 4<<10)
	for {
		line, err := b.ReadSlice('\n')
		l.line(string(line))
		if err != nil && err != bufio.ErrBufferFull {
			break
		}
	}
	_, _ = io.Copy(io.Discard, r)
	l.mu.Lock()
	l.ended = true
	l.mu.Unlock()
}

// line takes one message in.
func (l *ffmpegLog) line(s string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if m := ffmpegMapping.FindStringSubmatch(s); m != nil && l.codec == "" {
		l.codec = m[1]
	}
	if m := ffmpegDuration.FindStringSubmatch(s); m != nil && l.duration == 0 {
		l.duration = clockTime(m[1])
	}
	if strings.HasPrefix(s, "[info] Output #0") {
		l.output = true
	}
	if m := ffmpegError.FindStringSubmatch(s); m != nil {
		l.count++
		if l.last == "" {
			l.last = oneLine(ffmpegPointer.ReplaceAllString(m[1], ""))
		}
	}
}

// settled waits a moment for the messages that came before the first sound.
func (l *ffmpegLog) settled() {
	for range 200 {
		l.mu.Lock()
		ready := l.output || l.ended
		l.mu.Unlock()
		if ready {
			return
		}
		time.Sleep(5 * time.Millisecond)
	}
}

// codecName gives ffmpeg's name of the codec.
func (l *ffmpegLog) codecName() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.codec == "" {
		return "ffmpeg"
	}
	return l.codec
}

func (l *ffmpegLog) length() unit.Seconds {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.duration
}

// why gives the first error, empty if there was none.
func (l *ffmpegLog) why() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.last
}

func (l *ffmpegLog) errors() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.count
}
