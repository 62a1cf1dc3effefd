package intake

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"sync"
)

//go:embed data/*.json
var data embed.FS

// Catalogue is all that is asked and tried, fitted to no watch yet. It is not
// changed after New, so that many may read it at a time.
type Catalogue struct {
	questions []Question
	functions []Function
	wishes    []Wish
	custody   []Item
	cautions  []Caution
	first     []First
	signs     []Sign
	claims    []Claim
	// leads are the questions that one of the ten first questions leads to.
	leads map[string]bool
}

// Sign is one observation that likely causes reason from.
type Sign struct {
	ID    string `json:"id"`
	Words string `json:"words"`
	// Asked is where it is met: told, closed, function, hand_check, reading,
	// back_off, movement_out.
	Asked string `json:"asked"`
	// First marks the ten of the first screen.
	First bool `json:"first,omitempty"`
}

// First is one of the ten questions of the first four minutes.
type First struct {
	ID    string `json:"id"`
	Words string `json:"words"`
	// Opens are the questions and wishes that answer it; Field is the part of
	// the job's own record that does.
	Opens  []string `json:"opens,omitempty"`
	Field  string   `json:"field,omitempty"`
	Source Source   `json:"source"`
}

// Item is one line of custody.
type Item struct {
	ID     string   `json:"id"`
	Words  string   `json:"words"`
	Keep   []string `json:"keep,omitempty"` // what is written down
	Fits   Fits     `json:"fits,omitempty"`
	Source Source   `json:"source"`
}

// read is parsed once; a file that does not parse is a fault of the build,
// and a test fails on it.
var read = sync.OnceValues(func() (Catalogue, error) {
	var c Catalogue
	err := firstError(
		load("questions_told", &c.questions), load("questions_closed", &c.questions),
		load("questions_back_off", &c.questions), load("questions_movement_out", &c.questions),
		load("functions", &c.functions), load("wishes", &c.wishes), load("custody", &c.custody),
		load("cautions", &c.cautions), load("first", &c.first), load("signs", &c.signs),
		load("claims", &c.claims),
	)
	c.leads = map[string]bool{}
	for _, f := range c.first {
		for _, id := range f.Opens {
			c.leads[id] = true
		}
	}
	return c, err
})

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// load appends the items of one file.
func load[T any](name string, into *[]T) error {
	text, err := data.ReadFile("data/" + name + ".json")
	if err != nil {
		return fmt.Errorf("intake: %w", err)
	}
	items, err := decode[T](bytes.NewReader(text))
	if err != nil {
		return fmt.Errorf("intake: read %s.json: %w", name, err)
	}
	*into = append(*into, items...)
	return nil
}

func decode[T any](r io.Reader) ([]T, error) {
	d := json.NewDecoder(r)
	d.DisallowUnknownFields()
	var items []T
	if err := d.Decode(&items); err != nil {
		return nil, err
	}
	if d.More() {
		return nil, fmt.Errorf("something follows the list")
	}
	return items, nil
}

// maxOwn bounds a file of own questions, in bytes (chosen).
const maxOwn = 4 << 20

// ReadQuestions reads a workshop's own questions, a JSON list of them as
// Question is written. They are checked when they are merged by New.
func ReadQuestions(r io.Reader) ([]Question, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxOwn+1))
	switch {
	case err != nil:
		return nil, fmt.Errorf("read own questions: %w", err)
	case len(text) > maxOwn:
		return nil, fmt.Errorf("read own questions: larger than %d bytes", maxOwn)
	}
	qs, err := decode[Question](bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("read own questions: %w", err)
	}
	return qs, nil
}

// New gives the catalogue with a workshop's own questions added behind its
// own. An error names each item that cannot be, and why.
func New(own ...Question) (*Catalogue, error) {
	c, err := read()
	if err != nil {
		return nil, err
	}
	c.questions = slices.Clone(c.questions)
	for _, q := range own {
		q.Own = true
		c.questions = append(c.questions, q)
	}
	if err := c.check(); err != nil {
		return nil, err
	}
	return &c, nil
}

// Default gives the catalogue without additions. It panics when the program
// was built with a broken one, which a test holds.
var Default = sync.OnceValue(func() *Catalogue {
	c, err := New()
	if err != nil {
		panic("intake: " + err.Error())
	}
	return c
})

// MarshalJSON writes the whole catalogue, each list in its order.
func (c *Catalogue) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Questions []Question `json:"questions"`
		Functions []Function `json:"functions"`
		Wishes    []Wish     `json:"wishes"`
		Custody   []Item     `json:"custody"`
		Cautions  []Caution  `json:"cautions"`
		First     []First    `json:"first"`
		Signs     []Sign     `json:"signs"`
		Claims    []Claim    `json:"claims"`
	}{c.questions, c.functions, c.wishes, c.custody, c.cautions, c.first, c.signs, c.claims})
}

// Question finds a question by its id.
func (c *Catalogue) Question(id string) (Question, bool) {
	return find(c.questions, func(q Question) bool { return q.ID == id })
}

// Function finds a function check by its id.
func (c *Catalogue) Function(id string) (Function, bool) {
	return find(c.functions, func(f Function) bool { return f.ID == id })
}

// Sign finds a sign by its id.
func (c *Catalogue) Sign(id string) (Sign, bool) {
	return find(c.signs, func(s Sign) bool { return s.ID == id })
}

// AllQuestions lists every question, the workshop's own last.
func (c *Catalogue) AllQuestions() []Question { return slices.Clone(c.questions) }

// AllFunctions lists every function check in order.
func (c *Catalogue) AllFunctions() []Function { return slices.Clone(c.functions) }

// Own lists the questions that the workshop added.
func (c *Catalogue) Own() []Question {
	return slices.DeleteFunc(c.AllQuestions(), func(q Question) bool { return !q.Own })
}

// Deciding is one of the ten items that are looked at before all others, for
// the sign that it may show.
type Deciding struct {
	ID       string
	Words    string
	Group    Group // empty for a function check
	Function bool
}

// Deciding lists those of the ten deciding items that fit the watch, in the
// order in which they are met: told, closed, by hand, back off.
func (c *Catalogue) Deciding(f Features) []Deciding {
	var out []Deciding
	add := func(groups ...Group) {
		for _, g := range groups {
			for _, q := range c.Questions(f, g) {
				if q.Decides {
					out = append(out, Deciding{q.ID, q.Words, g, false})
				}
			}
		}
	}
	add(Told, Closed)
	for _, fn := range c.Functions(f, Reported{}) {
		if fn.Decides {
			out = append(out, Deciding{fn.ID, fn.Words, "", true})
		}
	}
	add(BackOff, MovementOut)
	return out
}

// Signs lists all signs.
func (c *Catalogue) Signs() []Sign { return slices.Clone(c.signs) }

// First lists the ten questions of the first four minutes, in order.
func (c *Catalogue) First() []First { return slices.Clone(c.first) }

// Custody lists what is kept of where a watch and its parts are.
func (c *Catalogue) Custody() []Item { return slices.Clone(c.custody) }

func find[T any](items []T, is func(T) bool) (T, bool) {
	if i := slices.IndexFunc(items, is); i >= 0 {
		return items[i], true
	}
	var none T
	return none, false
}

// answersOf gives the answers of a question or function.
func (c *Catalogue) answersOf(id string) (answers []Answer, function bool) {
	if q, ok := c.Question(id); ok {
		return q.Answers, false
	}
	fn, ok := c.Function(id)
	return fn.Answers, ok
}
