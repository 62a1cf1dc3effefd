package intake

import (
	"fmt"
	"strings"
)

// Fits says which watches an item is for, in words such as
//
//	alarm
//	calendar and not pocket
//	chronograph and (flyback or one_pusher)
//
// The empty expression fits every watch. "not" binds before "and", "and"
// before "or". The names are those of the fields of [Features] in lower case,
// with hand, automatic and key for the winding, hand_only for no rotor,
// calendar for any kind of it, and wrist for what is not pocket.
type Fits string

// maxFits bounds an expression, in words: a long one is a mistake (chosen).
const maxFits = 60

// Check tells what is wrong with the expression, nil when it can be used.
func (e Fits) Check() error {
	_, err := e.eval(Features{})
	return err
}

// Match tells whether a watch with features f is meant; Unknown when that
// hangs on something not known of it, or when the expression is broken, so
// that the item is asked rather than lost.
func (e Fits) Match(f Features) Known {
	k, err := e.eval(f)
	if err != nil {
		return Unknown
	}
	return k
}

func (e Fits) eval(f Features) (Known, error) {
	words := strings.Fields(strings.NewReplacer("(", " ( ", ")", " ) ").Replace(string(e)))
	if len(words) == 0 {
		return Yes, nil
	}
	if len(words) > maxFits {
		return Unknown, fmt.Errorf("fits has %d words; want at most %d", len(words), maxFits)
	}
	p := fitsParser{words: words, f: f}
	k, err := p.or()
	if err == nil && p.peek() != "" {
		err = fmt.Errorf("fits %q: %q is not expected there", clip(string(e)), clip(p.peek()))
	}
	return k, err
}

// fitsParser reads and reckons in one go: or of ands of perhaps negated names.
type fitsParser struct {
	words []string
	f     Features
}

func (p *fitsParser) peek() string {
	if len(p.words) == 0 {
		return ""
	}
	return p.words[0]
}

func (p *fitsParser) take(word string) bool {
	if p.peek() != word {
		return false
	}
	p.words = p.words[1:]
	return true
}

func (p *fitsParser) or() (Known, error) {
	k, err := p.and()
	for err == nil && p.take("or") {
		var next Known
		next, err = p.and()
		k = either(k, next)
	}
	return k, err
}

func (p *fitsParser) and() (Known, error) {
	k, err := p.one()
	for err == nil && p.take("and") {
		var next Known
		next, err = p.one()
		k = not(either(not(k), not(next)))
	}
	return k, err
}

func (p *fitsParser) one() (Known, error) {
	switch {
	case p.take("not"):
		k, err := p.one()
		return not(k), err
	case p.take("("):
		k, err := p.or()
		if err == nil && !p.take(")") {
			err = fmt.Errorf("fits: a bracket is not closed")
		}
		return k, err
	}
	name := p.peek()
	trait, ok := traits[name]
	if !ok {
		return Unknown, fmt.Errorf("fits: %q is no feature of a watch", clip(name))
	}
	p.words = p.words[1:]
	return trait(p.f), nil
}

func not(k Known) Known {
	switch k {
	case Yes:
		return No
	case No:
		return Yes
	}
	return Unknown
}

func either(a, b Known) Known {
	switch {
	case a == Yes || b == Yes:
		return Yes
	case a == No && b == No:
		return No
	}
	return Unknown
}

// clip keeps what a stranger wrote from flooding an error.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
