package web

import (
	"context"
	"net/http"
	"strings"

	"beatwright"
	"beatwright/intake"
)

func (s *Server) routesNew(mux *http.ServeMux) {
	s.page(mux, "/jobs/new", "new.html", s.newJob)
	s.act(mux, "/jobs", s.openJob)
}

// newView is the form for a new job: what is known so far, and what to choose
// from.
type newView struct {
	Owners []*beatwright.Owner `json:"owners"`
	// Watch is the watch that comes again, if one does.
	Watch     *beatwright.Watch      `json:"watch,omitempty"`
	After     string                 `json:"after,omitempty"`
	Movements []*beatwright.Movement `json:"movements"`
	Kinds     []string               `json:"kinds"`
	Prospect  bool                   `json:"prospect,omitempty"`
}

// kinds are offered as one types; any other words may be said.
var kinds = []string{
	"hand-wound", "automatic", "automatic with date", "automatic day-date", "automatic alarm with date", "hand-wound alarm",
	"hand-wound chronograph", "automatic chronograph with date", "hand-wound with stop seconds", "automatic with world time", "pocket watch", "pocket watch, hunter",
}

func (s *Server) newJob(r *http.Request) (*shown, error) {
	v := newView{Kinds: kinds, Prospect: r.FormValue("considered") != ""}
	if again := r.FormValue("after"); again != "" {
		p, err := s.bench.Job(r.Context(), again)
		if err != nil {
			return nil, err
		}
		v.Watch, v.After = p.Watch, p.Job.Number
	}
	var err error
	if v.Owners, err = all[*beatwright.Owner](r.Context(), s.bench, beatwright.KindOwner); err != nil {
		return nil, err
	}
	if v.Movements, err = all[*beatwright.Movement](r.Context(), s.bench, beatwright.KindMovement); err != nil {
		return nil, err
	}
	return &shown{Title: "New job", Nav: "Jobs", Where: "new job", View: v}, nil
}

// all gives every thing of a kind as its own type.
func all[T beatwright.Thing](ctx context.Context, r beatwright.Record, kind beatwright.Kind) ([]T, error) {
	things, err := r.All(ctx, kind)
	var out []T
	for _, t := range things {
		out = append(out, t.(T))
	}
	return out, err
}

// opening is what a new job is opened with, by page or by API.
type opening struct {
	Watch struct {
		ID       beatwright.ID `json:"id,omitempty"`
		Kind     string        `json:"kind,omitempty"`
		Marks    string        `json:"marks,omitempty"`
		Called   string        `json:"called,omitempty"`
		Case     string        `json:"case_number,omitempty"`
		Works    string        `json:"movement_number,omitempty"`
		About    string        `json:"about,omitempty"`
		Lume     string        `json:"lume,omitempty"`
		Movement beatwright.ID `json:"movement,omitempty"`
	} `json:"watch"`
	Owner struct {
		ID    beatwright.ID `json:"id,omitempty"`
		Name  string        `json:"name,omitempty"`
		Phone string        `json:"phone,omitempty"`
		Mail  string        `json:"mail,omitempty"`
	} `json:"owner"`
	Complaint  string               `json:"complaint,omitempty"`
	After      string               `json:"after,omitempty"`
	Considered bool                 `json:"considered,omitempty"`
	Prospect   *beatwright.Prospect `json:"prospect,omitempty"`
	Wishes     beatwright.Wishes    `json:"wishes,omitzero"`
}

// open makes the job with its watch and owner, in one change.
func (s *Server) open(ctx context.Context, o opening, who string) (*beatwright.Job, error) {
	now := s.now()
	entry := func() beatwright.Entry { return beatwright.Entry{ID: beatwright.NewID(now)} }
	j := &beatwright.Job{
		Entry: entry(), State: beatwright.Received, Opened: now, Complaint: strings.TrimSpace(o.Complaint), Prospect: o.Prospect, Wishes: o.Wishes,
	}
	if o.Considered {
		j.State = beatwright.Considered
	} else {
		j.Received = &now
	}
	var put []beatwright.Thing
	owner, made, err := s.ownerFor(ctx, o, entry)
	if err != nil {
		return nil, err
	}
	if made {
		put = append(put, owner)
	}
	if owner != nil {
		j.Owner = owner.ID
	}
	w, made, err := s.watchFor(ctx, o, j, entry)
	if err != nil {
		return nil, err
	}
	if made {
		put = append(put, w)
	}
	j.Watch = w.ID
	j.Clean()
	put = append(put, j)
	what := "received: " + w.Name()
	if o.Considered {
		what = "considered: " + w.Name()
	}
	_, err = s.bench.Apply(ctx, beatwright.Change{Who: who, What: what, Job: j.ID, Put: put})
	return j, err
}

// ownerFor finds the owner meant, by ID or by the same name, or makes one; nil
// where none was named.
func (s *Server) ownerFor(ctx context.Context, o opening, entry func() beatwright.Entry) (owner *beatwright.Owner, made bool, err error) {
	if o.Owner.ID != "" {
		owner, err := beatwright.Load[*beatwright.Owner](ctx, s.bench, beatwright.KindOwner, o.Owner.ID)
		return owner, false, err
	}
	name := strings.TrimSpace(o.Owner.Name)
	if name == "" {
		return nil, false, nil
	}
	owners, err := all[*beatwright.Owner](ctx, s.bench, beatwright.KindOwner)
	if err != nil {
		return nil, false, err
	}
	for _, known := range owners {
		if strings.EqualFold(known.Name, name) && (o.Owner.Phone == "" || o.Owner.Phone == known.Phone) {
			return known, false, nil
		}
	}
	return &beatwright.Owner{Entry: entry(), Name: name, Phone: o.Owner.Phone, Mail: o.Owner.Mail}, true, nil
}

// watchFor finds the watch that comes again, or makes the new one.
func (s *Server) watchFor(ctx context.Context, o opening, j *beatwright.Job, entry func() beatwright.Entry) (w *beatwright.Watch, made bool, err error) {
	if o.After != "" {
		earlier, err := s.bench.Job(ctx, o.After)
		if err != nil {
			return nil, false, err
		}
		j.After = earlier.Job.ID
		if j.Owner == "" {
			j.Owner = earlier.Job.Owner
		}
		return earlier.Watch, false, nil
	}
	if o.Watch.ID != "" {
		w, err := beatwright.Load[*beatwright.Watch](ctx, s.bench, beatwright.KindWatch, o.Watch.ID)
		return w, false, err
	}
	return &beatwright.Watch{
		Entry: entry(), Owner: j.Owner, Movement: o.Watch.Movement, What: strings.TrimSpace(o.Watch.Kind), Says: strings.TrimSpace(o.Watch.Marks),
		Called: o.Watch.Called, Case: o.Watch.Case, Works: o.Watch.Works, About: o.Watch.About, Lume: o.Watch.Lume,
	}, true, nil
}

// openJob opens a job from the form.
func (s *Server) openJob(r *http.Request) (string, error) {
	var o opening
	o.Watch.Kind, o.Watch.Marks = r.PostFormValue("kind"), r.PostFormValue("marks")
	o.Watch.Case, o.Watch.Works, o.Watch.About = r.PostFormValue("case"), r.PostFormValue("works"), r.PostFormValue("about")
	o.Watch.Lume, o.Watch.Movement = r.PostFormValue("lume"), beatwright.ID(r.PostFormValue("movement"))
	o.Owner.Name, o.Owner.Phone, o.Owner.Mail = r.PostFormValue("owner"), r.PostFormValue("phone"), r.PostFormValue("mail")
	o.Complaint, o.After = r.PostFormValue("complaint"), r.PostFormValue("after")
	o.Considered = r.PostFormValue("state") == string(beatwright.Considered)
	if o.Considered {
		p, err := s.prospectOf(r)
		if err != nil {
			return "", err
		}
		o.Prospect = p
	}
	j, err := s.open(r.Context(), o, s.who(r))
	if err != nil {
		return "", err
	}
	return "/jobs/" + j.Number, nil
}

func (s *Server) prospectOf(r *http.Request) (*beatwright.Prospect, error) {
	p := &beatwright.Prospect{Says: r.PostFormValue("says"), NotShown: r.PostFormValue("notshown"), Seller: r.PostFormValue("seller"), Claims: r.PostForm["claim"]}
	var err error
	if p.Asked, err = s.money(r, "asked"); err != nil {
		return nil, err
	}
	if p.Highest, err = s.money(r, "highest"); err != nil {
		return nil, err
	}
	p.Ends, err = dateOf(r, "ends")
	return p, err
}

// money reads an amount in the workshop's currency; nil for an empty field.
func (s *Server) money(r *http.Request, field string) (*beatwright.Money, error) {
	v := strings.TrimSpace(r.PostFormValue(field))
	if v == "" {
		return nil, nil
	}
	m, err := beatwright.ParseMoney(v, s.workshop(r.Context()).Currency)
	if err != nil {
		return nil, err
	}
	return &m, nil
}

func dateOf(r *http.Request, field string) (*beatwright.Date, error) {
	v := strings.TrimSpace(r.PostFormValue(field))
	if v == "" {
		return nil, nil
	}
	d, err := beatwright.ParseDate(v)
	if err != nil {
		return nil, err
	}
	return &d, nil
}

// features are what the watch has: what is known of its movement, and the
// words for its kind after it, so that "no date" takes away a date that the
// movement could have and neither loses what the other knows.
func features(p *beatwright.Papers) intake.Features {
	text := p.Watch.What
	if p.Movement != nil {
		of, _ := intake.OfMovement(p.Movement.Facts)
		text = of.String() + ", " + text
	}
	f, _ := intake.ParseKind(text)
	return f
}
