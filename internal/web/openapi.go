package web

import (
	"encoding/json"
	"net/http"
	"reflect"
	"strconv"
	"strings"
	"time"

	"beatwright"
	"beatwright/movement"
	"beatwright/position"
	"beatwright/reading"

	"github.com/invopop/jsonschema"
)

// describe makes the OpenAPI 3.1 document of the API from its table.
func describe(table []endpoint, version string) (json.RawMessage, error) {
	d := description{schemas: map[string]any{}}
	paths := map[string]map[string]any{}
	for _, e := range table {
		if paths[e.path] == nil {
			paths[e.path] = map[string]any{}
		}
		paths[e.path][strings.ToLower(e.method)] = d.operation(e)
	}
	d.schemas["problem"] = d.schema(problem{})
	return json.Marshal(map[string]any{
		"openapi": "3.1.0",
		"info": map[string]any{
			"title": "beatwright", "version": APIVersion,
			"description": "The workshop's record and engine, on this computer only. Program " + version + ". " +
				"An error has words, a code, and the field to blame.",
		},
		"paths":      paths,
		"components": map[string]any{"schemas": d.schemas},
	})
}

type description struct{ schemas map[string]any }

func (d *description) operation(e endpoint) map[string]any {
	op := map[string]any{"operationId": e.name, "summary": e.says, "responses": d.responses(e)}
	var params []any
	for _, name := range wildcards(e.path) {
		params = append(params, map[string]any{"name": name, "in": "path", "required": true, "schema": map[string]any{"type": "string"}})
	}
	for _, q := range e.query {
		params = append(params, map[string]any{"name": q.name, "in": "query", "description": q.says, "schema": map[string]any{"type": q.kind}})
	}
	if params != nil {
		op["parameters"] = params
	}
	switch {
	case e.form != nil:
		op["requestBody"] = map[string]any{"required": true, "content": map[string]any{"multipart/form-data": map[string]any{"schema": formSchema(e.form)}}}
	case e.in != nil:
		op["requestBody"] = map[string]any{"required": true, "content": map[string]any{"application/json": map[string]any{"schema": d.ref(e.in)}}}
	}
	return op
}

func (d *description) responses(e endpoint) map[string]any {
	st := e.status
	if st == 0 {
		st = http.StatusOK
	}
	good := map[string]any{"description": "Done."}
	switch {
	case e.media != "":
		good["content"] = map[string]any{e.media: map[string]any{}}
	case e.out != nil:
		good["content"] = map[string]any{"application/json": map[string]any{"schema": d.ref(e.out)}}
	}
	return map[string]any{
		strconv.Itoa(st): good,
		"default":        map[string]any{"description": "Not done; says why.", "content": map[string]any{"application/json": map[string]any{"schema": map[string]any{"$ref": "#/components/schemas/problem"}}}},
	}
}

func formSchema(fields []param) map[string]any {
	props, required := map[string]any{}, []string{}
	for _, f := range fields {
		s := map[string]any{"type": f.kind, "description": f.says}
		if f.kind == "binary" {
			s = map[string]any{"type": "string", "contentMediaType": "application/octet-stream", "description": f.says}
		}
		props[f.name] = s
		if f.required {
			required = append(required, f.name)
		}
	}
	return map[string]any{"type": "object", "properties": props, "required": required}
}

func wildcards(path string) []string {
	var out []string
	for part := range strings.SplitSeq(path, "/") {
		if strings.HasPrefix(part, "{") {
			out = append(out, strings.Trim(part, "{}"))
		}
	}
	return out
}

// ref puts a type among the schemas and refers to it.
func (d *description) ref(v any) map[string]any {
	t := reflect.TypeOf(v)
	if t == reflect.TypeFor[anyJSON]() {
		return map[string]any{}
	}
	name := t.Name()
	if _, ok := d.schemas[name]; !ok {
		d.schemas[name] = d.schema(v)
	}
	return map[string]any{"$ref": "#/components/schemas/" + name}
}

// schema describes a type, whole and without references.
func (d *description) schema(v any) any {
	r := &jsonschema.Reflector{Anonymous: true, DoNotReference: true, AllowAdditionalProperties: true, Mapper: special}
	s := r.ReflectFromType(reflect.TypeOf(v))
	s.Version = ""
	var out any
	b, err := json.Marshal(s)
	if err == nil {
		err = json.Unmarshal(b, &out)
	}
	if err != nil {
		return map[string]any{}
	}
	nullable(out)
	return out
}

// nullable lets every list be null: Go writes an empty one so.
func nullable(schema any) {
	switch v := schema.(type) {
	case map[string]any:
		if v["type"] == "array" {
			v["type"] = []any{"array", "null"}
		}
		for _, one := range v {
			nullable(one)
		}
	case []any:
		for _, one := range v {
			nullable(one)
		}
	}
}

// special gives the form of types that write their own JSON.
func special(t reflect.Type) *jsonschema.Schema {
	text := func(format, says string) *jsonschema.Schema {
		return &jsonschema.Schema{Type: "string", Format: format, Description: says}
	}
	switch t {
	case reflect.TypeFor[beatwright.Date]():
		return text("date", "a day")
	case reflect.TypeFor[time.Time]():
		return text("date-time", "")
	case reflect.TypeFor[beatwright.Money]():
		r := &jsonschema.Reflector{Anonymous: true, DoNotReference: true}
		s := r.Reflect(struct {
			Amount   string `json:"amount"`
			Currency string `json:"currency"`
		}{})
		s.Version = ""
		return s
	case reflect.TypeFor[reading.Reading](), reflect.TypeFor[heardJSON]():
		s := &jsonschema.Schema{Type: "object", Description: "a reading as the command measure gives it: heard true with its figures, heard false with code and why, or error and code"}
		return s
	case reflect.TypeFor[position.Position]():
		return text("", "how the watch lies, by the symbols of ISO 3158: CH, FH, 12H, 1H30 …")
	case reflect.TypeFor[movement.Movement]():
		return &jsonschema.Schema{Type: "object", Description: "a movement file"}
	case reflect.TypeFor[anyJSON]():
		return &jsonschema.Schema{}
	case reflect.TypeFor[[]byte]():
		return text("", "base64")
	}
	return nil
}
