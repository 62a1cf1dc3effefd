package web

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"beatwright"
	"beatwright/intake"
)

func (s *Server) routesIntake(mux *http.ServeMux) {
	s.page(mux, "/jobs/{number}/intake", "intake.html", s.intake)
	s.act(mux, "/jobs/{number}/intake", s.tapped)
	s.page(mux, "/jobs/{number}/wishes", "wishes.html", s.wishes)
	s.act(mux, "/jobs/{number}/wishes", s.keepWishes)
	s.page(mux, "/jobs/{number}/watch", "watch.html", s.watch)
	s.act(mux, "/jobs/{number}/watch", s.keepWatch)
	s.page(mux, "/settings/questions", "questions.html", s.questions)
	s.act(mux, "/settings/questions", s.addQuestion)
	s.act(mux, "/settings/questions/{id}/remove", s.removeQuestion)
}

// intakeView is what the eye sees, in the groups in which a watch is opened.
type intakeView struct {
	Number string `json:"job"`
	// Asked says what the questions were fitted to, NotRead what of the
	// watch's kind was not understood.
	Asked   string        `json:"asked"`
	NotRead []string      `json:"not_understood,omitempty"`
	Missing []missing     `json:"not_yet_asked,omitempty"`
	Told    intakeGroup   `json:"told"`
	Groups  []intakeGroup `json:"groups"`
	// Last is the newest act on this page that stands, which Undo takes back.
	Last *beatwright.Done `json:"last,omitempty"`
	// About is what that act was about: a picture taken next is of it.
	About     beatwright.ID `json:"-"`
	AboutWhat string        `json:"-"`
}

// missing is one of the ten first questions that was not answered.
type missing struct {
	Words string `json:"words"`
	Link  string `json:"-"`
}

type intakeGroup struct {
	ID   intake.Group `json:"id"`
	Name string       `json:"name"`
	// Mark is done, now or later; Count says it in figures.
	Mark  string `json:"mark"`
	Count string `json:"count"`
	Noted int    `json:"noted"`
	Open  int    `json:"open"`
	// Said sums up what was noted, for a group that is folded away.
	Said   string  `json:"said,omitempty"`
	Decide []item  `json:"decide,omitempty"`
	Also   []item  `json:"also,omitempty"`
	Tries  []trial `json:"functions,omitempty"`
	// Barred are functions not to be tried now, Why the reason for all of
	// them that are not even named.
	Barred []barred `json:"barred,omitempty"`
	Why    string   `json:"why,omitempty"`
}

// item is one question as it stands: empty, yes or none.
type item struct {
	ID       string           `json:"id"`
	Words    string           `json:"words"`
	Look     string           `json:"look,omitempty"`
	Unsure   bool             `json:"unsure,omitempty"`
	State    string           `json:"state"`
	Answers  []tapWord        `json:"answers,omitempty"`
	Where    []tapWord        `json:"where,omitempty"`
	Suggests string           `json:"suggests,omitempty"`
	Cautions []intake.Caution `json:"cautions,omitempty"`
	more
}

// more is what may be said beyond taps.
type more struct {
	Entry     beatwright.ID        `json:"entry,omitempty"`
	Note      string               `json:"note,omitempty"`
	Condition beatwright.Condition `json:"condition,omitempty"`
	// Set is the condition where the watchmaker's differs from the words'.
	Set      beatwright.Condition `json:"-"`
	Pictures []picked             `json:"pictures,omitempty"`
}

// picked is one picture of the job, and whether it is of this finding.
type picked struct {
	ID     beatwright.ID `json:"id"`
	Number int           `json:"number"`
	On     bool          `json:"on"`
}

type tapWord struct {
	ID    string `json:"id"`
	Words string `json:"words"`
	On    bool   `json:"on,omitempty"`
}

// trial is one function to try by hand, or tried.
type trial struct {
	ID       string           `json:"id"`
	Words    string           `json:"words"`
	Try      string           `json:"try"`
	Guard    string           `json:"guard,omitempty"`
	Unsure   bool             `json:"unsure,omitempty"`
	Next     bool             `json:"next,omitempty"`
	Result   string           `json:"result,omitempty"`
	Cells    []tapWord        `json:"-"`
	Answers  []tapWord        `json:"answers,omitempty"`
	Suggests string           `json:"suggests,omitempty"`
	Cautions []intake.Caution `json:"cautions,omitempty"`
	more
}

type barred struct {
	Words string `json:"words"`
	Why   string `json:"why"`
	Final bool   `json:"final,omitempty"`
}

func (s *Server) intake(r *http.Request) (*shown, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	c, f := s.catalogue(r.Context()), features(p)
	v := intakeView{Number: p.Job.Number, Asked: askedFor(f), Missing: notAsked(c, p)}
	_, v.NotRead = intake.ParseKind(p.Watch.What)
	groups := make([]intakeGroup, 0, len(intake.Groups()))
	for _, g := range intake.Groups() {
		groups = append(groups, groupOf(c, f, g, p))
	}
	markGroups(groups)
	v.Told, v.Groups = groups[0], groups[1:]
	if err := s.lastTap(r.Context(), p, &v); err != nil {
		return nil, err
	}
	return &shown{Title: "What the eye sees, " + p.Job.Number, Nav: "Jobs", Where: p.Job.Number + " " + p.Watch.Name(), Job: p.Job.ID, View: v}, nil
}

// askedFor says what kind of watch the questions are for.
func askedFor(f intake.Features) string {
	kind := f.String()
	article := "a "
	if strings.ContainsRune("aeiou", rune(kind[0])) && !strings.HasPrefix(kind, "one") {
		article = "an "
	}
	if kind == "watch" {
		return "Asked for any watch, as its kind is not said."
	}
	return "Asked for " + article + kind + "."
}

// lastTap finds what Undo takes back here: the newest act that stands and was
// made with taps. What else was done in the job is left alone.
func (s *Server) lastTap(ctx context.Context, p *beatwright.Papers, v *intakeView) error {
	const back = 60 // acts looked through (chosen: a whole intake)
	acts, err := s.bench.History(ctx, p.Job.ID, 0, back)
	if err != nil {
		return err
	}
	for i, act := range acts {
		if act.Undoes != 0 || act.UndoneBy != 0 {
			continue
		}
		touches, err := s.bench.Touched(ctx, act.Number)
		if err != nil {
			return err
		}
		id, taps := tappedIn(touches)
		if !taps {
			continue
		}
		v.Last = &acts[i]
		for _, f := range p.Findings {
			if f.ID == id && !f.None && f.Group != string(intake.Told) {
				v.About, v.AboutWhat = id, f.What
			}
		}
		return nil
	}
	return nil
}

// tappedIn tells whether a change was made with taps, and on what.
func tappedIn(touches []beatwright.Touch) (id beatwright.ID, taps bool) {
	for _, t := range touches {
		switch t.Kind {
		case beatwright.KindFinding, beatwright.KindFunction:
			id, taps = t.ID, true
		case beatwright.KindWatch, beatwright.KindPicture:
		default:
			return "", false
		}
	}
	return id, taps
}

// markGroups says which group is done, which is at hand and which comes later:
// the last one that was begun is at hand until it is done, then the next open
// one.
func markGroups(groups []intakeGroup) {
	now := -1
	for i, g := range groups {
		if g.Mark == "begun" {
			now = i
		}
	}
	if now < 0 {
		now = slices.IndexFunc(groups, func(g intakeGroup) bool { return g.Mark != "done" })
	}
	for i := range groups {
		switch {
		case i == now:
			groups[i].Mark = "now"
		case groups[i].Mark != "done":
			groups[i].Mark = "later"
		}
	}
}

// short are the ten first questions as a line has room for them.
var short = map[string]string{
	"fi.what": "what it is and whose", "fi.complaint": "what is wrong, in their words", "fi.running": "whether it runs, how it stopped",
	"fi.past": "falls, water, magnets, last overhaul", "fi.worn": "how worn", "fi.hand_check": "gain or loss against a clock",
	"fi.lume": "old glow paint", "fi.damage": "damage seen now", "fi.wishes": "polish, dial, water", "fi.limit": "limit and date",
}

// notAsked are those of the ten first questions that nothing answers yet.
func notAsked(c *intake.Catalogue, p *beatwright.Papers) []missing {
	var out []missing
	for _, first := range c.First() {
		if link, open := firstOpen(c, first, p); open {
			out = append(out, missing{orElse(short[first.ID], first.Words), link})
		}
	}
	return out
}

// firstOpen tells whether a first question is open, and where it is answered.
// One that several taps answer is closed by one thing noted, or by all of
// them looked at.
func firstOpen(c *intake.Catalogue, first intake.First, p *beatwright.Papers) (link string, open bool) {
	base := "/jobs/" + p.Job.Number
	switch first.Field {
	case "watch":
		return base + "/watch", p.Watch.What == "" && p.Movement == nil || p.Owner == nil && p.Job.Prospect == nil
	case "complaint":
		return base, p.Job.Complaint == "" && (p.Job.Prospect == nil || p.Job.Prospect.Says == "")
	case "hand_check":
		return base + "#clock", len(p.HandChecks) == 0
	}
	f := features(p)
	for _, id := range first.Opens {
		if strings.HasPrefix(id, "wi.") {
			if wished(p.Job.Wishes, id) {
				return "", false
			}
			link = orElse(link, base+"/wishes#"+id)
			continue
		}
		q, ok := c.Question(id)
		if !ok || q.Fits.Match(f) == intake.No {
			continue
		}
		switch got := p.Finding(id); {
		case got == nil:
			link = orElse(link, "#"+id)
		case !got.None:
			return "", false
		}
	}
	return link, link != ""
}

// wished tells whether a wish was answered.
func wished(w beatwright.Wishes, id string) bool {
	switch id {
	case "wi.limit":
		return w.Limit != nil || w.Answers[id] != ""
	case "wi.deadline":
		return w.Deadline != nil || w.Answers[id] != ""
	}
	return w.Answers[id] != ""
}
