package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"beatwright"
	"beatwright/intake"
)

// asked is the catalogue with the workshop's own questions, made again only
// when one of them has changed.
type asked struct {
	mu    sync.Mutex
	made  string // of which questions, each with its revision
	all   *intake.Catalogue
	amiss map[beatwright.ID]string
}

// catalogue is all that is asked here, the workshop's own questions with it. A
// question that cannot be used is left out, and the settings say why.
func (s *Server) catalogue(ctx context.Context) *intake.Catalogue {
	c, _ := s.asking(ctx)
	return c
}

func (s *Server) asking(ctx context.Context) (*intake.Catalogue, map[beatwright.ID]string) {
	own, err := all[*beatwright.Question](ctx, s.bench, beatwright.KindQuestion)
	if err != nil || len(own) == 0 {
		return intake.Default(), nil
	}
	made := ""
	for _, q := range own {
		made += fmt.Sprintf("%s/%d ", q.ID, q.Rev)
	}
	s.asked.mu.Lock()
	defer s.asked.mu.Unlock()
	if s.asked.made != made {
		s.asked.all, s.asked.amiss = merged(own)
		s.asked.made = made
	}
	return s.asked.all, s.asked.amiss
}

// merged puts own questions behind the catalogue's, one after another, so that
// one that cannot be does not cost the others.
func merged(own []*beatwright.Question) (*intake.Catalogue, map[beatwright.ID]string) {
	c, amiss := intake.Default(), map[beatwright.ID]string{}
	var good []intake.Question
	for _, kept := range own {
		var q intake.Question
		err := json.Unmarshal(kept.Body, &q)
		if err == nil {
			var next *intake.Catalogue
			if next, err = intake.New(append(slices.Clone(good), q)...); err == nil {
				c, good = next, append(good, q)
			}
		}
		if err != nil {
			amiss[kept.ID] = oneLine(err.Error())
		}
	}
	return c, amiss
}

// questionsView lists the workshop's own questions and what a new one can be.
type questionsView struct {
	Own        []ownQuestion      `json:"own"`
	Groups     []intake.Group     `json:"groups"`
	Conditions []intake.Condition `json:"conditions"`
	Kinds      []trait            `json:"-"`
	Count      int                `json:"catalogue"`
}

type ownQuestion struct {
	Entry    beatwright.ID   `json:"entry"`
	Question intake.Question `json:"question"`
	// Amiss says why it is not asked, empty if it is.
	Amiss string `json:"amiss,omitempty"`
}

type trait struct{ Fits, Words string }

// traits are the watches that an own question can be kept to.
var traits = []trait{
	{"", "every watch"},
	{"automatic", "automatic watches"},
	{"hand_only", "hand-wound watches"},
	{"alarm", "alarm watches"},
	{"calendar", "watches with a calendar"},
	{"chronograph", "chronographs"},
	{"sealed", "watches with seals"},
	{"pocket", "pocket watches"},
	{"wrist", "wristwatches"},
}

func (s *Server) questions(r *http.Request) (*shown, error) {
	own, err := all[*beatwright.Question](r.Context(), s.bench, beatwright.KindQuestion)
	if err != nil {
		return nil, err
	}
	c, amiss := s.asking(r.Context())
	v := questionsView{Groups: intake.Groups(), Conditions: intake.Conditions(), Kinds: traits, Count: len(c.AllQuestions()) - len(c.Own())}
	for _, kept := range own {
		o := ownQuestion{Entry: kept.ID, Amiss: amiss[kept.ID]}
		if err := json.Unmarshal(kept.Body, &o.Question); err != nil {
			o.Question.Words = "a question that cannot be read"
		}
		v.Own = append(v.Own, o)
	}
	return &shown{Title: "Own questions", Nav: "Settings", Where: "own questions", View: v}, nil
}

// addQuestion adds a question of the workshop's own from the form.
func (s *Server) addQuestion(r *http.Request) (string, error) {
	kept := &beatwright.Question{Entry: s.entry()}
	q := intake.Question{
		ID: "own." + string(kept.ID), Group: intake.Group(r.PostFormValue("group")), Words: strings.TrimSpace(r.PostFormValue("words")),
		Look: strings.TrimSpace(r.PostFormValue("look")), Fits: intake.Fits(r.PostFormValue("fits")), Source: "J",
	}
	var err error
	if q.Answers, err = answerLines(r.PostFormValue("answers")); err != nil {
		return "", err
	}
	for place := range strings.SplitSeq(r.PostFormValue("where"), ",") {
		if place = strings.TrimSpace(place); place != "" {
			q.Where = append(q.Where, place)
		}
	}
	if _, err := intake.New(append(s.catalogue(r.Context()).Own(), q)...); err != nil {
		return "", &beatwright.Error{Code: beatwright.Wrong, Field: "question", Text: "this question cannot be asked", Err: err, Do: "nothing was kept; mend it and add it again"}
	}
	if kept.Body, err = json.Marshal(q); err != nil {
		return "", err
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "now asked at intake: " + q.Words, Put: []beatwright.Thing{kept}})
	return "/settings/questions", err
}

// answerLines reads answers, one a line, each with its condition behind a
// sign of equality: "stuck = damaged".
func answerLines(text string) ([]intake.Answer, error) {
	var out []intake.Answer
	for line := range strings.SplitSeq(text, "\n") {
		words, condition, _ := strings.Cut(line, "=")
		if words = strings.TrimSpace(words); words == "" {
			continue
		}
		a := intake.Answer{ID: fmt.Sprintf("a%d", len(out)+1), Words: words}
		if condition = strings.TrimSpace(condition); condition != "" {
			i := slices.IndexFunc(intake.Conditions(), func(c intake.Condition) bool { return c.Words() == condition || string(c) == condition })
			if i < 0 {
				return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "answers", Text: fmt.Sprintf("answers: %q is no condition", condition), Do: "nothing was kept; write one of sound, worn, damaged, missing, wrong part, makeshift, altered, not seen"}
			}
			a.Condition = intake.Conditions()[i]
		}
		out = append(out, a)
	}
	return out, nil
}

func (s *Server) removeQuestion(r *http.Request) (string, error) {
	id := beatwright.ID(r.PathValue("id"))
	kept, err := beatwright.Load[*beatwright.Question](r.Context(), s.bench, beatwright.KindQuestion, id)
	if err != nil {
		return "", err
	}
	var q intake.Question
	if json.Unmarshal(kept.Body, &q) != nil || q.Words == "" {
		q.Words = string(id)
	}
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "no longer asked at intake: " + q.Words, Remove: []beatwright.Key{beatwright.KeyOf(kept)}})
	return "/settings/questions", err
}
