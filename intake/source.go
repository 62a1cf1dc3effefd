package intake

import (
	"encoding/json"
	"fmt"
	"strings"
	"sync"
)

// Source says where an item comes from: keys with a place, separated by
// semicolons, such as "P" or "Kleinlein1920 §46; J".
type Source string

// sourceWords gives each key's words, from data/sources.json.
var sourceWords = sync.OnceValues(func() (map[string]string, error) {
	words := map[string]string{}
	text, err := data.ReadFile("data/sources.json")
	if err == nil {
		err = json.Unmarshal(text, &words)
	}
	return words, err
})

// String prints the source: "Kleinlein 1920, §46; judgement". A key that is
// not known is printed as it stands.
func (s Source) String() string {
	words, _ := sourceWords()
	var out []string
	for _, part := range s.parts() {
		key, place, _ := strings.Cut(part, " ")
		if w := words[key]; w != "" {
			key = w
		}
		if place != "" {
			key += ", " + place
		}
		out = append(out, key)
	}
	return strings.Join(out, "; ")
}

func (s Source) parts() []string {
	var out []string
	for part := range strings.SplitSeq(string(s), ";") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// check tells which key is not known. A workshop's own question need not
// have a source.
func (s Source) check() error {
	words, err := sourceWords()
	if err != nil {
		return err
	}
	for _, part := range s.parts() {
		key, _, _ := strings.Cut(part, " ")
		if words[key] == "" {
			return fmt.Errorf("source %q is not known", clip(key))
		}
	}
	return nil
}
