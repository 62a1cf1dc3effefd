package web

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"net/http"
	"time"

	"beatwright/internal/live"

	"github.com/coder/websocket"
)

const (
	// maxSound is the most that one message brings: 2 s at 192 kHz.
	maxSound = 16 + 4*192000*2
	// soundHead is what stands before the samples: the index of the first, and
	// when it came.
	soundHead = 16
)

// liveSound takes the sound of a page over a WebSocket. Text is JSON, first of
// all the Device; binary is the index of the first sample as a float64, its
// time as another, and samples as float32, all little-endian. The page is told
// which sample is wanted next, and each second the last that survives a crash.
func (s *Server) liveSound(w http.ResponseWriter, r *http.Request) {
	st, err := s.sittingOf(r)
	if err != nil {
		s.trouble(w, r, err)
		return
	}
	// Accept refuses a page of another origin itself.
	c, err := websocket.Accept(w, r, &websocket.AcceptOptions{CompressionMode: websocket.CompressionDisabled})
	if err != nil {
		return
	}
	defer c.CloseNow()
	c.SetReadLimit(maxSound)
	ctx, cancel := context.WithCancel(r.Context())
	defer cancel()
	go func() {
		select {
		case <-s.closing:
			cancel()
		case <-ctx.Done():
		}
	}()
	if err := takeSound(ctx, c, st); err != nil && ctx.Err() == nil && websocket.CloseStatus(err) == -1 {
		_ = tell(ctx, c, map[string]any{"error": oneLine(err.Error())})
		c.Close(websocket.StatusPolicyViolation, "")
	}
}

func takeSound(ctx context.Context, c *websocket.Conn, st *live.Sitting) error {
	var d live.Device
	kind, b, err := c.Read(ctx)
	if err != nil {
		return err
	}
	if kind != websocket.MessageText || json.Unmarshal(b, &d) != nil {
		return errors.New("the first message is to say which microphone it is")
	}
	feed, err := st.Attach(d)
	if err != nil {
		return err
	}
	if err := tell(ctx, c, map[string]any{"next": feed.Next()}); err != nil {
		return err
	}
	told := time.Now()
	for {
		kind, b, err := c.Read(ctx)
		if err != nil {
			return err // the page may come back; silence is told by the sitting
		}
		if kind == websocket.MessageText {
			ended, err := control(feed, b)
			if ended || err != nil {
				return err
			}
			continue
		}
		first, x, err := samplesOf(b)
		if err != nil {
			return err
		}
		if err := feed.Push(first, x); err != nil {
			return err
		}
		if time.Since(told) >= time.Second {
			told = time.Now()
			if err := tell(ctx, c, map[string]any{"durable": feed.Durable()}); err != nil {
				return err
			}
		}
	}
}

// control is a message in words: that the page speaks, or that it ends.
func control(feed *live.Feed, b []byte) (ended bool, err error) {
	var m struct {
		Speaking *bool   `json:"speaking"`
		Ended    *string `json:"ended"`
	}
	if err := json.Unmarshal(b, &m); err != nil {
		return false, errors.New("a message that is not understood")
	}
	if m.Speaking != nil {
		feed.Speaking(*m.Speaking)
	}
	if m.Ended != nil {
		feed.Close(*m.Ended)
		return true, nil
	}
	return false, nil
}

// samplesOf takes a binary message apart.
func samplesOf(b []byte) (first int64, x []float32, err error) {
	if len(b) < soundHead || (len(b)-soundHead)%4 != 0 {
		return 0, nil, fmt.Errorf("a message of %d bytes is no sound", len(b))
	}
	at := math.Float64frombits(binary.LittleEndian.Uint64(b))
	if !(at >= 0 && at <= 1<<52) {
		return 0, nil, errors.New("sound without a place")
	}
	x = make([]float32, (len(b)-soundHead)/4)
	for i := range x {
		x[i] = math.Float32frombits(binary.LittleEndian.Uint32(b[soundHead+4*i:]))
	}
	return int64(at), x, nil
}

func tell(ctx context.Context, c *websocket.Conn, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	return c.Write(ctx, websocket.MessageText, b)
}
