package say_test

import (
	"testing"

	"beatwright/internal/say"
)

func TestSentence(t *testing.T) {
	for in, want := range map[string]string{
		"": "", " a watch ": "A watch.", "ends.": "Ends.", "why?": "Why?", "édition": "Édition.", "24 s": "24 s.",
	} {
		if got := say.Sentence(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestList(t *testing.T) {
	for want, words := range map[string][]string{"": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := say.List(words); got != want {
			t.Errorf("%v: %q, want %q", words, got, want)
		}
	}
}
