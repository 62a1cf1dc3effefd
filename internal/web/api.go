package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"beatwright"
	"beatwright/internal/live"
)

// APIVersion is the version of what the API promises.
const APIVersion = "1.0"

// endpoint is one line of the API's table: the routes and their description
// are both made from it.
type endpoint struct {
	method, path string
	name         string // operationId
	says         string
	query        []param
	// in is what the body holds, out what the answer does; nil for none. form
	// says that the body is multipart with these fields.
	in, out any
	form    []param
	status  int
	// media is the answer's kind where it is not JSON.
	media string
	do    func(*http.Request) (any, error)
	raw   http.HandlerFunc
}

// param is one field of a query or a form.
type param struct {
	name, says string
	kind       string // string, number, integer, boolean, binary
	required   bool
}

// endpoints are all of them. What the page does by its forms, the API does by
// changes: a change puts and removes things of any kind, whole.
func (s *Server) endpoints() []endpoint {
	limit := param{"limit", "at most how many", "integer", false}
	return append([]endpoint{
		{method: "GET", path: "/api/jobs", name: "listJobs", says: "Jobs, newest first; q finds words that begin with it.", out: jobList{}, do: s.apiJobs, query: []param{
			{"q", "words, each the beginning of a word in the job", "string", false},
			{"state", "only jobs in this state, or open", "string", false},
			{"kind", "only of this kind: a word of it", "string", false},
			{"owner", "only of this owner (ID)", "string", false},
			limit,
			{"offset", "how many to skip", "integer", false},
		}},
		{method: "POST", path: "/api/jobs", name: "openJob", says: "Open a job, with its watch and owner made or found.", in: opening{}, out: beatwright.Job{}, status: http.StatusCreated, do: s.apiOpenJob},
		{method: "GET", path: "/api/jobs/{number}", name: "getJob", says: "All there is of one job.", out: papersJSON{}, do: s.apiJob},
		{method: "POST", path: "/api/jobs/{number}/hearings", name: "addHearing", says: "Measure a recording and keep it: the reading, as the command measure gives it, with the hearing's ID.", form: []param{
			{"sound", "the recording, of any kind the program reads", "binary", true},
			{"position", "how the watch lay: CH, FH, 3H, 6H, 9H, 12H or half hours", "string", false},
			{"hours_since_full_wind", "hours since it was fully wound", "number", false},
			{"chronograph", "on, off or none", "string", false},
			{"lift_deg", "lift angle, where it is not the movement's", "number", false},
			{"stage", "when in the job it was heard; by default as the job's state says", "string", false},
			{"calendar", "idle or engaged", "string", false},
			{"temperature_c", "°C", "number", false},
			{"cased", "yes or no", "string", false},
			{"note", "a note", "string", false},
		}, out: heardJSON{}, status: http.StatusCreated, do: s.apiHear},
		{method: "POST", path: "/api/hearings/{id}/readings", name: "measureAgain", says: "Measure a kept hearing again; earlier readings stay.", in: againJSON{}, out: heardJSON{}, status: http.StatusCreated, do: s.apiAgain},
		{method: "GET", path: "/api/hearings/{id}/sound", name: "getSound", says: "The kept sound.", media: "audio/flac", raw: s.apiSound},
		{method: "POST", path: "/api/jobs/{number}/pictures", name: "addPicture", says: "Keep a picture; copies without what the camera wrote into it are made.", form: []param{
			{"picture", "a JPEG, PNG, GIF or WebP", "binary", true}, {"says", "what is seen", "string", false}, {"finding", "the finding it shows", "string", false},
		}, out: pictureList{}, status: http.StatusCreated, do: s.apiPicture},
		{method: "GET", path: "/api/jobs/{number}/explained", name: "explainJob", says: "What the job's readings mean together, as the command explain gives it.", out: anyJSON{}, do: s.apiExplain},
		{method: "GET", path: "/api/due", name: "getDue", says: "What wants doing, over all jobs.", out: dueView{}, do: s.apiDue},
		{method: "POST", path: "/api/changes", name: "apply", says: "One act: things of any kind put (made or replaced, whole, with the rev they had) and removed, all or nothing.", in: changeJSON{}, out: beatwright.Done{}, status: http.StatusCreated, do: s.apiApply},
		{method: "GET", path: "/api/changes", name: "history", says: "The history, newest first.", out: historyJSON{}, do: s.apiHistory, query: []param{
			{"job", "only of this job (number)", "string", false}, {"before", "only changes with a lower number", "integer", false}, limit,
		}},
		{method: "POST", path: "/api/changes/{change}/undo", name: "undo", says: "Take a change back; undoing an undo does it again.", out: beatwright.Done{}, status: http.StatusCreated, do: s.apiUndo},
		{method: "GET", path: "/api/things/{kind}", name: "listThings", says: "Every thing of a kind: " + kindWords() + ".", out: thingList{}, do: s.apiThings},
		{method: "GET", path: "/api/things/{kind}/{id}", name: "getThing", says: "One thing.", out: anyJSON{}, do: s.apiThing},
		{method: "GET", path: "/api/openapi.json", name: "getDescription", says: "This description.", out: anyJSON{}, do: func(*http.Request) (any, error) { return s.openapi, nil }},
	}, s.sittingEndpoints()...)
}

// routesAPI gives the API its routes, and makes its description.
func (s *Server) routesAPI(mux *http.ServeMux) error {
	table := s.endpoints()
	doc, err := describe(table, s.version)
	if err != nil {
		return err
	}
	s.openapi = doc
	for _, e := range table {
		mux.HandleFunc(e.method+" "+e.path, s.answerAPI(e))
	}
	return nil
}

func (s *Server) answerAPI(e endpoint) http.HandlerFunc {
	if e.raw != nil {
		return e.raw
	}
	return func(w http.ResponseWriter, r *http.Request) {
		v, err := e.do(r)
		if err != nil {
			s.trouble(w, r, err)
			return
		}
		st := e.status
		if st == 0 {
			st = http.StatusOK
		}
		writeJSON(w, st, v)
	}
}

type jobList struct {
	Jobs []beatwright.Line `json:"jobs"`
}

type pictureList struct {
	Pictures []*beatwright.Picture `json:"pictures"`
}

type thingList struct {
	Things []anyJSON `json:"things"`
}

// anyJSON is JSON whose form the thing's kind decides.
type anyJSON = json.RawMessage

type historyJSON struct {
	Changes []beatwright.Done `json:"changes"`
}

type againJSON struct {
	LiftDeg *float64 `json:"lift_deg,omitempty"`
}

// papersJSON is all there is of one job.
type papersJSON struct {
	Number     string                      `json:"number"`
	Job        *beatwright.Job             `json:"job"`
	Watch      *beatwright.Watch           `json:"watch"`
	Owner      *beatwright.Owner           `json:"owner,omitempty"`
	Movement   *beatwright.Movement        `json:"movement,omitempty"`
	Others     []beatwright.Line           `json:"other_jobs,omitempty"`
	Findings   []*beatwright.Finding       `json:"findings,omitempty"`
	Functions  []*beatwright.FunctionCheck `json:"function_checks,omitempty"`
	HandChecks []*beatwright.HandCheck     `json:"hand_checks,omitempty"`
	Rounds     []*beatwright.Round         `json:"rounds,omitempty"`
	Hearings   []*beatwright.Hearing       `json:"hearings,omitempty"`
	Readings   []*beatwright.Reading       `json:"readings,omitempty"`
	Notes      []*beatwright.Note          `json:"notes,omitempty"`
	Pictures   []*beatwright.Picture       `json:"pictures,omitempty"`
	Moves      []*beatwright.Move          `json:"moves,omitempty"`
}

// heardJSON is a reading as the command measure gives it, with the hearing.
type heardJSON struct {
	Reading *beatwright.Reading
}

// MarshalJSON writes the reading's own object with hearing and reading added.
func (h heardJSON) MarshalJSON() ([]byte, error) {
	b, err := json.Marshal(h.Reading.Says)
	if err != nil {
		return nil, err
	}
	ids, err := json.Marshal(map[string]beatwright.ID{"hearing": h.Reading.Hearing, "reading": h.Reading.ID})
	if err != nil {
		return nil, err
	}
	return append(append(b[:len(b)-1:len(b)-1], ','), ids[1:]...), nil
}

func (s *Server) apiJobs(r *http.Request) (any, error) {
	q := beatwright.Query{
		Words: r.FormValue("q"), States: statesCalled(r.FormValue("state")), Kind: r.FormValue("kind"), Owner: beatwright.ID(r.FormValue("owner")),
	}
	var err error
	if q.Limit, err = whole(r, "limit", 50, 1000); err != nil {
		return nil, err
	}
	if q.Offset, err = whole(r, "offset", 0, 1<<30); err != nil {
		return nil, err
	}
	lines, err := s.bench.Find(r.Context(), q)
	if lines == nil {
		lines = []beatwright.Line{}
	}
	return jobList{lines}, err
}

// whole reads a whole number from the query, otherwise if it is not there.
func whole(r *http.Request, field string, otherwise, most int) (int, error) {
	v := r.FormValue(field)
	if v == "" {
		return otherwise, nil
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < 0 || n > most {
		return 0, &beatwright.Error{Code: beatwright.Wrong, Field: field, Text: fmt.Sprintf("%s: %q is no whole number up to %d", field, v, most)}
	}
	return n, nil
}

// body reads a JSON body; fields that mean nothing are said, since they are
// most likely misspelt.
func body(r *http.Request, into any) error {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		if _, ok := errors.AsType[*http.MaxBytesError](err); ok {
			return err
		}
		if beatwright.CodeOf(err) != "" {
			return err
		}
		return &beatwright.Error{Code: beatwright.Wrong, Text: "the body is not the JSON that is wanted", Err: err, Do: "/api/openapi.json says what is"}
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return &beatwright.Error{Code: beatwright.Wrong, Text: "the body holds more than one JSON value"}
	}
	return nil
}

func (s *Server) apiOpenJob(r *http.Request) (any, error) {
	var o opening
	if err := body(r, &o); err != nil {
		return nil, err
	}
	return s.open(r.Context(), o, s.who(r))
}

func (s *Server) apiJob(r *http.Request) (any, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	return papersJSON{
		p.Job.Number, p.Job, p.Watch, p.Owner, p.Movement, p.Others, p.Findings, p.Functions, p.HandChecks,
		p.Rounds, p.Hearings, p.Readings, p.Notes, p.Pictures, p.Moves,
	}, nil
}

func (s *Server) apiHear(r *http.Request) (any, error) {
	_, reading, err := s.hearing(r)
	return heardJSON{reading}, err
}

func (s *Server) apiAgain(r *http.Request) (any, error) {
	var in againJSON
	if err := body(r, &in); err != nil {
		return nil, err
	}
	reading, err := s.bench.Again(r.Context(), beatwright.ID(r.PathValue("id")), degreesOf(in.LiftDeg), s.who(r))
	return heardJSON{reading}, err
}

func (s *Server) apiSound(w http.ResponseWriter, r *http.Request) {
	r.SetPathValue("hearing", r.PathValue("id"))
	s.sound(w, r)
}

func (s *Server) apiPicture(r *http.Request) (any, error) {
	pictures, err := s.keepPictures(r)
	return pictureList{pictures}, err
}

func (s *Server) apiExplain(r *http.Request) (any, error) {
	p, err := s.papers(r)
	if err != nil {
		return nil, err
	}
	return live.Explain(p), nil
}

func (s *Server) apiDue(r *http.Request) (any, error) {
	sh, err := s.due(r)
	if err != nil {
		return nil, err
	}
	return sh.View, nil
}

func (s *Server) apiThings(r *http.Request) (any, error) {
	kind := beatwright.Kind(r.PathValue("kind"))
	if _, err := beatwright.Read(kind, []byte("{}")); err != nil {
		return nil, beatwright.NotFound("kind", string(kind))
	}
	things, err := s.bench.All(r.Context(), kind)
	out := thingList{Things: []anyJSON{}}
	for _, t := range things {
		b, err := json.Marshal(t)
		if err != nil {
			return nil, err
		}
		out.Things = append(out.Things, b)
	}
	return out, err
}

func (s *Server) apiThing(r *http.Request) (any, error) {
	return s.bench.Get(r.Context(), beatwright.Key{Kind: beatwright.Kind(r.PathValue("kind")), ID: beatwright.ID(r.PathValue("id"))})
}

func kindWords() string {
	var words []string
	for _, k := range beatwright.Kinds {
		words = append(words, string(k))
	}
	return strings.Join(words, ", ")
}
