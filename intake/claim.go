package intake

import "slices"

// Claim is a kind of thing that a seller says of a watch.
type Claim struct {
	ID    string `json:"id"`
	Words string `json:"words"`
	Fits  Fits   `json:"fits,omitempty"`
	// For is what must all be found for the claim to be borne out, Against
	// what each speaks against it.
	For     []Bearing `json:"for"`
	Against []Bearing `json:"against"`
	// Never marks what nothing looked at can bear out: it can only not be
	// contradicted ("all original").
	Never  string `json:"never,omitempty"`
	Source Source `json:"source"`
}

// Bearing is one thing that bears on a claim: a sign, or answers to a
// question or function check.
type Bearing struct {
	Sign   string `json:"sign,omitempty"`
	Absent bool   `json:"absent,omitempty"` // looked for and not seen
	Item   string `json:"item,omitempty"`
	// Answers, any of which counts; with Absent, none of them, the item
	// having been looked at.
	Answers []string `json:"answers,omitempty"`
	Says    string   `json:"says"`
}

// Standing is how a claim came out.
type Standing string

// The standings of a claim.
const (
	BorneOut     Standing = "borne_out"
	Contradicted Standing = "contradicted"
	SoFar        Standing = "so_far" // nothing against it, not all looked at
	NotLookedAt  Standing = "not_looked_at"
)

// Words is the standing as it is read.
func (s Standing) Words() string {
	switch s {
	case BorneOut:
		return "borne out"
	case Contradicted:
		return "contradicted"
	case SoFar:
		return "nothing against it so far"
	}
	return "not looked at"
}

// Verdict sets one claim against what was found.
type Verdict struct {
	Claim    Claim    `json:"claim"`
	Standing Standing `json:"standing"`
	For      []string `json:"for,omitempty"`     // what bears it out
	Against  []string `json:"against,omitempty"` // what speaks against it
	Open     []string `json:"open,omitempty"`    // what was not looked at, or looked at and not shown
}

// Claims gives the kinds of claims that can be made of a watch with features f.
func (c *Catalogue) Claims(f Features) []Claim {
	var out []Claim
	for _, cl := range c.claims {
		if cl.Fits.Match(f) != No {
			out = append(out, cl)
		}
	}
	return out
}

// Compare sets the claims with these ids against the answers and against the
// signs of readings and hand checks: true seen, false looked for and not
// seen, missing not looked at. Ids that are not known are passed over.
func (c *Catalogue) Compare(claims []string, f Features, a Answers, readings map[string]bool) []Verdict {
	facts := map[string]bool{}
	seen, absent := c.Evidence(f, a)
	for _, s := range absent {
		facts[s] = false
	}
	for s, is := range readings {
		facts[s] = is
	}
	for _, s := range seen {
		facts[s] = true
	}
	var out []Verdict
	for _, id := range claims {
		if cl, ok := find(c.claims, func(cl Claim) bool { return cl.ID == id }); ok {
			out = append(out, cl.judge(a, facts))
		}
	}
	return out
}

func (cl Claim) judge(a Answers, facts map[string]bool) Verdict {
	v := Verdict{Claim: cl}
	var failed []string
	for _, b := range cl.For {
		switch b.met(a, facts) {
		case Yes:
			v.For = append(v.For, b.Says)
		case No:
			if b.Item != "" {
				failed = append(failed, "not so: "+b.Says)
			} else {
				v.Open = append(v.Open, "not shown: "+b.Says)
			}
		default:
			v.Open = append(v.Open, b.Says)
		}
	}
	looked := len(v.For)
	for _, b := range cl.Against {
		switch b.met(a, facts) {
		case Yes:
			v.Against = append(v.Against, b.Says)
		case No:
			looked++
		}
	}
	if len(v.Against) == 0 {
		v.Against = failed
	}
	switch {
	case len(v.Against) > 0:
		v.Standing = Contradicted
	case len(v.For) == len(cl.For) && len(cl.For) > 0 && cl.Never == "":
		v.Standing = BorneOut
	case looked > 0:
		v.Standing = SoFar
	default:
		v.Standing = NotLookedAt
	}
	return v
}

// met tells whether the bearing was found; Unknown when it was not looked at.
func (b Bearing) met(a Answers, facts map[string]bool) Known {
	var is, looked bool
	if b.Sign != "" {
		is, looked = facts[b.Sign]
	} else {
		is, looked = b.found(a)
	}
	if !looked {
		return Unknown
	}
	return known(is != b.Absent)
}

// found tells whether the item shows what the bearing speaks of, and whether
// it was looked at at all: not when it was not tried, nor when it is there
// without a word how and the bearing asks how.
func (b Bearing) found(a Answers) (is, looked bool) {
	g, ok := a[b.Item]
	good := g.None || g.Outcome == Works && len(g.Taps) == 0
	switch {
	case !ok || g.Outcome == NotTried:
		return false, false
	case good:
		return false, true
	case len(b.Answers) == 0:
		return true, true
	case len(g.Taps) == 0:
		return false, false
	}
	return slices.ContainsFunc(g.Taps, func(t Tap) bool { return slices.Contains(b.Answers, t.Answer) }), true
}
