package intake

import "slices"

// Wish is one thing asked of the owner at receipt; its answer is kept with
// date and words. Default is the answer that does least.
type Wish struct {
	ID      string   `json:"id"`
	Words   string   `json:"words"`
	Answers []Choice `json:"answers,omitempty"`
	// Kind is how it is answered: choose, amount, date, sign.
	Kind    string `json:"kind"`
	Default string `json:"default"` // id of a choice; empty: none given, it must be asked
	// Unasked says what holds as long as nothing was answered.
	Unasked string   `json:"unasked"`
	Guards  []string `json:"guards,omitempty"` // steps and lines that stop and ask
	Tell    string   `json:"tell,omitempty"`   // what the owner is told
	Fits    Fits     `json:"fits,omitempty"`
	Source  Source   `json:"source"`
}

// Choice is one answer to a wish.
type Choice struct {
	ID    string `json:"id"`
	Words string `json:"words"`
}

// Wishes gives the wishes to ask for a watch with features f.
func (c *Catalogue) Wishes(f Features) []Wish {
	var out []Wish
	for _, w := range c.wishes {
		if w.Fits.Match(f) != No {
			out = append(out, w)
		}
	}
	return out
}

// CautionKind says whom a caution protects.
type CautionKind string

// The kinds of caution.
const (
	ForPerson CautionKind = "person"
	ForWatch  CautionKind = "watch"
)

// Words is how the caution begins.
func (k CautionKind) Words() string {
	if k == ForPerson {
		return "Can hurt you"
	}
	return "Can spoil the watch"
}

// Reminder stands with every caution for the person.
const Reminder = "Local rules and licensed practice come first; this is a reminder, not advice."

// Caution is a reminder that stands at the step it guards.
type Caution struct {
	ID     string      `json:"id"`
	Kind   CautionKind `json:"kind"`
	Words  string      `json:"words"`
	Source Source      `json:"source"`
}

// Cautions gives the cautions with these ids, those for the person first;
// ids that are not known are passed over.
func (c *Catalogue) Cautions(ids ...string) []Caution {
	var out []Caution
	for _, k := range []CautionKind{ForPerson, ForWatch} {
		for _, w := range c.cautions {
			if w.Kind == k && slices.Contains(ids, w.ID) {
				out = append(out, w)
			}
		}
	}
	return out
}

// AllCautions lists every caution.
func (c *Catalogue) AllCautions() []Caution { return slices.Clone(c.cautions) }
