package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/handcheck"
	"beatwright/internal/live"
	"beatwright/unit"
)

func (s *Server) routesHearings(mux *http.ServeMux) {
	s.act(mux, "/jobs/{number}/hearings", s.addHearing)
	mux.HandleFunc("GET /progress/{task}", func(w http.ResponseWriter, r *http.Request) {
		h, ok := s.heard.get(r.PathValue("task"))
		if !ok {
			s.trouble(w, asJSON(r), beatwright.NotFound("task", r.PathValue("task")))
			return
		}
		writeJSON(w, http.StatusOK, h)
	})
}

// memoryForm is how much of an upload is held in memory; the rest waits on the
// disk until it is read.
const memoryForm = 8 << 20

// addHearing takes sound that was dropped on a job, measures it and keeps it.
func (s *Server) addHearing(r *http.Request) (string, error) {
	h, _, err := s.hearing(r)
	if err != nil {
		return "", err
	}
	return "/jobs/" + r.PathValue("number") + "/hearings/" + string(h.ID), nil
}

// hearing keeps the sound of a multipart request, for page and API alike.
func (s *Server) hearing(r *http.Request) (*beatwright.Hearing, *beatwright.Reading, error) {
	if err := r.ParseMultipartForm(memoryForm); err != nil {
		return nil, nil, formError(err)
	}
	defer r.MultipartForm.RemoveAll()
	f, head, err := r.FormFile("sound")
	if err != nil {
		return nil, nil, &beatwright.Error{Code: beatwright.Wrong, Field: "sound", Text: "no recording came with it", Do: "choose a sound file"}
	}
	defer f.Close()
	rec, err := recordingOf(r)
	if err != nil {
		return nil, nil, err
	}
	task := r.FormValue("task")
	defer s.heard.done(task)
	rec.Name, rec.Sound, rec.Who = head.Filename, f, s.who(r)
	rec.Progress = func(done, total unit.Seconds) { s.heard.set(task, float64(done), float64(total), s.now()) }
	return s.bench.Keep(r.Context(), r.PathValue("number"), rec)
}

// formError is what is amiss with a form that could not be read.
func formError(err error) error {
	if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
		return err
	}
	return &beatwright.Error{Code: beatwright.Wrong, Text: "the form could not be read", Err: err, Do: "nothing was kept; send it again"}
}

// recordingOf reads what is said of a recording beside its sound.
func recordingOf(r *http.Request) (live.Recording, error) {
	rec := live.Recording{
		Position: strings.TrimSpace(r.FormValue("position")), Stage: beatwright.Stage(r.FormValue("stage")), Note: r.FormValue("note"),
	}
	var err error
	if rec.State, err = stateFrom(r); err != nil {
		return rec, err
	}
	lift, err := number(r, "lift_deg")
	rec.Lift = degreesOf(lift)
	return rec, err
}

// stateFrom reads how the watch is; what is left empty is not stated.
func stateFrom(r *http.Request) (st beatwright.State, err error) {
	st.Chronograph, st.Calendar, st.Wound = r.FormValue("chronograph"), r.FormValue("calendar"), r.FormValue("wound")
	if st.Hours, err = number(r, "hours_since_full_wind"); err != nil {
		return st, err
	}
	if st.Temperature, err = number(r, "temperature_c"); err != nil {
		return st, err
	}
	if v := r.FormValue("cased"); v != "" {
		cased := v == "yes" || v == "true"
		st.Cased = &cased
	}
	return st, nil
}

// number reads a number from a form, with a comma or a point; nil for an empty
// field.
func number(r *http.Request, field string) (*float64, error) {
	v := strings.TrimSpace(r.FormValue(field))
	if v == "" {
		return nil, nil
	}
	n, err := strconv.ParseFloat(strings.Replace(strings.Replace(v, ",", ".", 1), "−", "-", 1), 64)
	if err != nil || n != n || n > 1e12 || n < -1e12 {
		return nil, &beatwright.Error{Code: beatwright.Wrong, Field: field, Text: fmt.Sprintf("%s: %q is no number", field, v)}
	}
	return &n, nil
}

// addHandCheck keeps what the hands did against a clock.
func (s *Server) addHandCheck(r *http.Request) (string, error) {
	p, err := s.papers(r)
	if err != nil {
		return "", err
	}
	change, err := number(r, "change_s")
	if err != nil {
		return "", err
	}
	over, err := handcheck.ParseSpan(r.FormValue("over"))
	if err != nil {
		return "", &beatwright.Error{Code: beatwright.Wrong, Field: "over", Text: "over", Err: err}
	}
	readTo, err := number(r, "read_to_s")
	if err != nil {
		return "", err
	}
	if change == nil {
		return "", &beatwright.Error{Code: beatwright.Wrong, Field: "change_s", Text: "say how many seconds the hands gained or lost"}
	}
	h := &beatwright.HandCheck{
		Entry: s.entry(), Job: p.Job.ID, ChangeS: *change, OverS: float64(over), ReadToS: 1,
		Stage: p.Job.DefaultStage(), Worn: r.FormValue("worn") != "", Note: r.FormValue("note"), At: s.now(),
	}
	if readTo != nil {
		h.ReadToS = *readTo
	}
	if r.FormValue("lost") != "" {
		h.ChangeS = -abs(h.ChangeS)
	}
	line := handLines(&beatwright.Papers{HandChecks: []*beatwright.HandCheck{h}})[0]
	_, err = s.bench.Apply(r.Context(), beatwright.Change{Who: s.who(r), What: "hand check: " + line.Words, Job: p.Job.ID, Put: []beatwright.Thing{h}})
	return "/jobs/" + p.Job.Number, err
}
