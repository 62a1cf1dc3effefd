package web

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"beatwright"
)

// changeJSON is one act.
type changeJSON struct {
	// What are the words for the history.
	What string `json:"what"`
	// Job is the number (or ID) of the job in whose history the act stands.
	Job    string           `json:"job,omitempty"`
	Who    string           `json:"who,omitempty"`
	Put    []putJSON        `json:"put,omitempty"`
	Remove []beatwright.Key `json:"remove,omitempty"`
}

// putJSON is one thing to put. Without an ID it is a new one.
type putJSON struct {
	Kind  beatwright.Kind `json:"kind"`
	Thing anyJSON         `json:"thing"`
}

func (s *Server) apiApply(r *http.Request) (any, error) {
	var in changeJSON
	if err := body(r, &in); err != nil {
		return nil, err
	}
	c := beatwright.Change{Who: in.Who, What: strings.TrimSpace(in.What), Remove: in.Remove}
	if c.Who == "" {
		c.Who = s.who(r)
	}
	if in.Job != "" {
		id, err := s.jobID(r.Context(), in.Job)
		if err != nil {
			return nil, err
		}
		c.Job = id
	}
	for _, p := range in.Put {
		t, err := s.thing(p)
		if err != nil {
			return nil, err
		}
		c.Put = append(c.Put, t)
	}
	return s.bench.Apply(r.Context(), c)
}

func (s *Server) jobID(ctx context.Context, number string) (beatwright.ID, error) {
	p, err := s.bench.Job(ctx, number)
	if err != nil {
		return "", err
	}
	return p.Job.ID, nil
}

// thing reads one thing of a change. What the program itself keeps, sound and
// pictures and what they say, comes in by its own door only.
func (s *Server) thing(p putJSON) (beatwright.Thing, error) {
	if len(p.Thing) == 0 {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "put", Text: "a thing came without its content"}
	}
	t, err := beatwright.Read(p.Kind, p.Thing)
	if err != nil {
		if beatwright.CodeOf(err) != "" {
			return nil, err
		}
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "put", Text: "put", Err: err}
	}
	h := t.Header()
	if h.ID == "" {
		h.ID = beatwright.NewID(s.now())
	}
	if h.Rev == 0 && (p.Kind == beatwright.KindHearing || p.Kind == beatwright.KindReading || p.Kind == beatwright.KindPicture) {
		return nil, &beatwright.Error{
			Code: beatwright.Wrong, Field: "put", Text: "a new " + string(p.Kind) + " comes with its sound or picture",
			Do: "send it to the job's hearings or pictures",
		}
	}
	return t, nil
}

func (s *Server) apiHistory(r *http.Request) (any, error) {
	var job beatwright.ID
	if n := r.FormValue("job"); n != "" {
		id, err := s.jobID(r.Context(), n)
		if err != nil {
			return nil, err
		}
		job = id
	}
	before, err := whole(r, "before", 0, 1<<30)
	if err != nil {
		return nil, err
	}
	limit, err := whole(r, "limit", 50, 1000)
	if err != nil {
		return nil, err
	}
	h, err := s.bench.History(r.Context(), job, int64(before), limit)
	if h == nil {
		h = []beatwright.Done{}
	}
	return historyJSON{h}, err
}

func (s *Server) apiUndo(r *http.Request) (any, error) {
	n, err := strconv.ParseInt(r.PathValue("change"), 10, 64)
	if err != nil {
		return nil, beatwright.NotFound("change", r.PathValue("change"))
	}
	return s.bench.Undo(r.Context(), n, s.who(r))
}
