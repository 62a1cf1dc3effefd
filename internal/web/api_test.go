package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// api asks a workshop over its API and holds every answer to the description
// that the workshop itself gives.
type api struct {
	*workshop
	doc map[string]any
	c   *jsonschema.Compiler
}

func newAPI(t *testing.T) *api {
	t.Helper()
	w := newWorkshop(t)
	_, text := w.get("/api/openapi.json")
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("api.json", doc); err != nil {
		t.Fatal(err)
	}
	return &api{w, doc.(map[string]any), c}
}

// do sends a request and gives the answer, which must be one that the
// description of path (with its wildcards) allows.
func (a *api) do(method, path, template, contentType string, body io.Reader, want int) map[string]any {
	a.t.Helper()
	req, err := http.NewRequest(method, a.URL+path, body)
	if err != nil {
		a.t.Fatal(err)
	}
	if contentType != "" {
		req.Header.Set("Content-Type", contentType)
	}
	res, err := a.Client().Do(req)
	if err != nil {
		a.t.Fatal(err)
	}
	st, text := read(a.t, res)
	if st != want {
		a.t.Fatalf("%s %s: %d, want %d: %.300s", method, path, st, want, text)
	}
	answer := fmt.Sprint(st)
	responses := dig(a.doc, "paths", template, strings.ToLower(method), "responses")
	if responses == nil {
		a.t.Fatalf("%s %s is not described", method, template)
	}
	if _, ok := responses[answer]; !ok {
		answer = "default"
	}
	escaped := strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(template)
	schema, err := a.c.Compile("api.json#/paths/" + escaped + "/" + strings.ToLower(method) + "/responses/" + answer + "/content/application~1json/schema")
	if err != nil {
		a.t.Fatalf("the description of %s %s cannot be used: %v", method, template, err)
	}
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	if err != nil {
		a.t.Fatalf("%s %s answers what is no JSON: %v", method, path, err)
	}
	if err := schema.Validate(v); err != nil {
		a.t.Errorf("%s %s answers otherwise than described: %v\n%.400s", method, path, err, text)
	}
	var out map[string]any
	if err := json.Unmarshal([]byte(text), &out); err != nil {
		a.t.Fatal(err)
	}
	return out
}

func (a *api) send(method, path, template, body string, want int) map[string]any {
	a.t.Helper()
	return a.do(method, path, template, "application/json", strings.NewReader(body), want)
}

func dig(v map[string]any, keys ...string) map[string]any {
	for _, k := range keys {
		v, _ = v[k].(map[string]any)
	}
	return v
}

// form makes a multipart body of one file and fields.
func form(t *testing.T, field, name string, file []byte, pairs ...string) (string, io.Reader) {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for i := 0; i+1 < len(pairs); i += 2 {
		if err := m.WriteField(pairs[i], pairs[i+1]); err != nil {
			t.Fatal(err)
		}
	}
	part, err := m.CreateFormFile(field, name)
	if err != nil {
		t.Fatal(err)
	}
	part.Write(file)
	m.Close()
	return m.FormDataContentType(), &b
}

func TestAPIKeepsWhatItDescribes(t *testing.T) {
	a := newAPI(t)
	job := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"automatic","marks":"Quellmar"},"owner":{"name":"Ilse Marrow"}}`, 201)
	number, _ := job["number"].(string)
	if !strings.HasSuffix(number, "-001") {
		t.Errorf("the first job is numbered %q", number)
	}
	list := a.do("GET", "/api/jobs?q=quell", "/api/jobs", "", nil, 200)
	if jobs := list["jobs"].([]any); len(jobs) != 1 {
		t.Errorf("%d jobs found, want 1", len(jobs))
	}
	a.do("GET", "/api/jobs/"+number, "/api/jobs/{number}", "", nil, 200)
	a.do("GET", "/api/due", "/api/due", "", nil, 200)
	done := a.send("POST", "/api/changes", "/api/changes", `{"what":"noted: crown worn","job":"`+number+`","put":[{"kind":"finding","thing":{"job":"`+
		job["id"].(string)+`","what":"Crown worn","condition":"worn","at":"2026-11-17T09:00:00Z"}}]}`, 201)
	a.do("GET", "/api/changes?job="+number, "/api/changes", "", nil, 200)
	a.do("GET", "/api/things/finding", "/api/things/{kind}", "", nil, 200)
	a.do("GET", "/api/things/job/"+job["id"].(string), "/api/things/{kind}/{id}", "", nil, 200)
	a.send("POST", fmt.Sprintf("/api/changes/%v/undo", done["number"]), "/api/changes/{change}/undo", "", 201)
	if left := a.do("GET", "/api/things/finding", "/api/things/{kind}", "", nil, 200)["things"].([]any); len(left) != 0 {
		t.Errorf("after undo %d findings are left", len(left))
	}
}

func TestAPIHearsAndExplains(t *testing.T) {
	a := newAPI(t)
	number := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"hand-wound"}}`, 201)["number"].(string)
	kind, body := form(t, "sound", "dial up.wav", sound12.wav(t), "position", "CH", "hours_since_full_wind", "0", "chronograph", "none", "lift_deg", "50")
	heard := a.do("POST", "/api/jobs/"+number+"/hearings", "/api/jobs/{number}/hearings", kind, body, 201)
	rate, _ := heard["rate_s_per_day"].(map[string]any)
	if heard["heard"] != true || rate == nil || rate["value"].(float64) < 19 || rate["value"].(float64) > 21 {
		t.Errorf("a watch gaining 20 s/d is heard as %v", rate)
	}
	id, _ := heard["hearing"].(string)
	if lift := heard["lift_deg"].(map[string]any); lift["value"] != 50.0 || lift["standing"] != "given" {
		t.Errorf("lift %v, want 50 as given", lift)
	}
	again := a.send("POST", "/api/hearings/"+id+"/readings", "/api/hearings/{id}/readings", `{"lift_deg":44}`, 201)
	if again["hearing"] != id || again["reading"] == heard["reading"] {
		t.Error("measured again is not another reading of the same hearing")
	}
	a.do("GET", "/api/jobs/"+number+"/explained", "/api/jobs/{number}/explained", "", nil, 200)
	whole := a.do("GET", "/api/jobs/"+number, "/api/jobs/{number}", "", nil, 200)
	if n := len(whole["readings"].([]any)); n != 2 {
		t.Errorf("%d readings are kept, want both", n)
	}
	res, err := a.Client().Get(a.URL + "/api/hearings/" + id + "/sound")
	if err != nil {
		t.Fatal(err)
	}
	st, sound := read(t, res)
	if st != 200 || !strings.HasPrefix(sound, "fLaC") {
		t.Errorf("the kept sound: %d, begins %.4q", st, sound)
	}
}

func TestAPISittings(t *testing.T) {
	a := newAPI(t)
	number := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"automatic"}}`, 201)["number"].(string)
	begun := a.send("POST", "/api/jobs/"+number+"/sittings", "/api/jobs/{number}/sittings", `{"plan":["CH","3H"],"quick":true,"state":{"hours_since_full_wind":0}}`, 201)
	id, _ := begun["id"].(string)
	if begun["stage"] != "as found" {
		t.Errorf("stage %v", begun["stage"])
	}
	list := a.do("GET", "/api/sittings", "/api/sittings", "", nil, 200)
	if n := len(list["sittings"].([]any)); n != 1 {
		t.Errorf("%d sittings are open, want one", n)
	}
	v := a.do("GET", "/api/sittings/"+id, "/api/sittings/{id}", "", nil, 200)
	if n := len(v["places"].([]any)); n != 2 || v["phase"] != "silent" {
		t.Errorf("%d places, phase %v", n, v["phase"])
	}
	v = a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"act":"skip"}`, 201)
	if v["places"].([]any)[0].(map[string]any)["state"] != "skipped" {
		t.Errorf("after skip %v", v["places"])
	}
	a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"lies":"6H"}`, 201)
	a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", `{"act":"stop"}`, 201)
	for _, wrong := range []string{`{"act":"accept"}`, `{"lies":"13H"}`, `{"act":"dance"}`} {
		a.send("POST", "/api/sittings/"+id+"/acts", "/api/sittings/{id}/acts", wrong, 422)
	}
	a.send("POST", "/api/jobs/"+number+"/sittings", "/api/jobs/{number}/sittings", `{"plan":[]}`, 422)
	a.send("POST", "/api/jobs/"+number+"/sittings", "/api/jobs/{number}/sittings", `{"adjust":{"target":"shine","wanted":0}}`, 422)
	a.do("GET", "/api/sittings/nosuch", "/api/sittings/{id}", "", nil, 404)
	a.do("GET", "/api/sittings/pickup", "/api/sittings/{id}", "", nil, 200)
}

func TestAPIErrorsAreInWords(t *testing.T) {
	a := newAPI(t)
	kind, text := form(t, "sound", "notes.txt", []byte("this is no sound at all"))
	number := a.send("POST", "/api/jobs", "/api/jobs", `{"watch":{"kind":"automatic"}}`, 201)["number"].(string)
	for name, tc := range map[string]struct {
		method, path, template, kind, body string
		want                               int
		code                               string
	}{
		"no such job":      {"GET", "/api/jobs/2026-999", "/api/jobs/{number}", "", "", 404, "missing"},
		"nothing said":     {"POST", "/api/jobs", "/api/jobs", "application/json", `{}`, 422, "wrong"},
		"misspelt":         {"POST", "/api/jobs", "/api/jobs", "application/json", `{"watsch":{}}`, 422, "wrong"},
		"no JSON":          {"POST", "/api/jobs", "/api/jobs", "application/json", `<watch>`, 422, "wrong"},
		"no such kind":     {"GET", "/api/things/boat", "/api/things/{kind}", "", "", 404, "missing"},
		"nothing to undo":  {"POST", "/api/changes/77/undo", "/api/changes/{change}/undo", "", "", 404, "missing"},
		"limit of words":   {"GET", "/api/jobs?limit=many", "/api/jobs", "", "", 422, "wrong"},
		"sound of letters": {"POST", "/api/jobs/" + number + "/hearings", "/api/jobs/{number}/hearings", kind, "", 422, "wrong"},
	} {
		t.Run(name, func(t *testing.T) {
			b := &api{&workshop{t, a.bench, a.page, a.Server}, a.doc, a.c}
			body := io.Reader(strings.NewReader(tc.body))
			if tc.kind == kind && tc.kind != "" && name == "sound of letters" {
				body = text
			}
			p := b.do(tc.method, tc.path, tc.template, tc.kind, body, tc.want)
			if p["code"] != tc.code || len(p["error"].(string)) < 12 {
				t.Errorf("told as %v", p)
			}
		})
	}
}
