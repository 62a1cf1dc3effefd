package intake_test

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"beatwright/intake"
)

// wanted are ids that others rely on; each may have more beside it.
var wanted = map[string]string{
	"closed": "ca.glass ca.bezel ca.case ca.lugs ca.back ca.crown ca.pushers ca.dial ca.lume ca.hands ca.date ca.seconds " +
		"ca.strap ca.bow ca.noise ca.damp ca.marks ca.setleft",
	"back off": "cb.gasket cb.fit cb.rust cb.screws cb.oil cb.hair cb.balance cb.index cb.rotor cb.wheels cb.dust cb.marks " +
		"cb.levers cb.gong cb.count cb.engrave cb.stop",
	"movement out": "cc.shakes cc.pivots cc.caps cc.stones cc.escape cc.train cc.centre cc.cannon cc.keyless cc.barrel cc.wall " +
		"cc.reverser cc.finger cc.cam cc.heart cc.depth cc.friction cc.dialfeet cc.case cc.safety",
	"functions": "f.look f.listen f.unscrew f.wind f.rotor f.run f.alarm_off f.pull f.set f.date f.day f.chrono_start " +
		"f.chrono_reset f.chrono_run f.alarm f.lids f.date_eve f.hear",
	"wishes": "wi.purpose wi.polish wi.dial wi.hands wi.lume wi.glass wi.crown wi.generic wi.oldparts wi.water wi.rating " +
		"wi.limit wi.estimate wi.strip wi.deadline wi.value wi.outwork wi.data wi.radium wi.risk wi.photos wi.deliver wi.sign",
	"custody": "cu.watch cu.tray cu.out cu.guard cu.old cu.ext cu.list cu.key cu.register cu.radium cu.move cu.close",
	"first":   "fi.what fi.complaint fi.running fi.past fi.worn fi.hand_check fi.lume fi.damage fi.wishes fi.limit",
	"cautions": "p.radium p.radium_law p.tritium p.spring p.grime p.sharp p.magnet p.asfound w.force_stem w.calendar_hours " +
		"w.chrono_reset w.alarm_order w.dead_wind w.lefthand w.hairspring w.index w.lidspring w.stem_release",
}

// counts are how many ids each list holds, counted by hand.
var counts = map[string]int{
	"closed": 18, "back off": 17, "movement out": 20, "functions": 18, "wishes": 23, "custody": 12, "first": 10,
}

func present(c *intake.Catalogue) map[string][]string {
	have := map[string][]string{}
	byGroup := map[intake.Group]string{intake.Closed: "closed", intake.BackOff: "back off", intake.MovementOut: "movement out"}
	for _, q := range c.AllQuestions() {
		have[byGroup[q.Group]] = append(have[byGroup[q.Group]], q.ID)
	}
	for _, f := range c.AllFunctions() {
		have["functions"] = append(have["functions"], f.ID)
	}
	for _, w := range c.Wishes(intake.Features{}) {
		have["wishes"] = append(have["wishes"], w.ID)
	}
	for _, i := range c.Custody() {
		have["custody"] = append(have["custody"], i.ID)
	}
	for _, f := range c.First() {
		have["first"] = append(have["first"], f.ID)
	}
	for _, w := range c.AllCautions() {
		have["cautions"] = append(have["cautions"], w.ID)
	}
	return have
}

func TestEveryWantedItemIsThere(t *testing.T) {
	have := present(intake.Default())
	for list, ids := range wanted {
		if want, n := counts[list], len(strings.Fields(ids)); want != 0 && n != want {
			t.Errorf("%s: the test lists %d ids, want %d", list, n, want)
		}
		for _, id := range strings.Fields(ids) {
			if !slices.Contains(have[list], id) {
				t.Errorf("%s: %s is missing", list, id)
			}
		}
	}
}

// byHand are signs of functions that no answer here gives, with the reason.
var byHand = map[string]string{}

// TestSignsCanBeMet: what is told, seen or felt has an answer that shows it.
// What a hand check or a reading shows is found elsewhere.
func TestSignsCanBeMet(t *testing.T) {
	c := intake.Default()
	shown := map[string]bool{}
	for _, q := range c.AllQuestions() {
		for _, a := range q.Answers {
			shown[a.Sign] = true
		}
	}
	for _, f := range c.AllFunctions() {
		for _, a := range f.Answers {
			shown[a.Sign] = true
		}
	}
	perKind := map[string]int{}
	for _, s := range c.Signs() {
		perKind[s.Asked]++
		elsewhere := s.Asked == "reading" || s.Asked == "hand_check" || byHand[s.ID] != ""
		if !elsewhere && !shown[s.ID] {
			t.Errorf("sign %s (%s) is shown by no answer", s.ID, s.Asked)
		}
		if shown[s.ID] && s.Asked == "reading" {
			t.Errorf("sign %s is a reading's, yet an answer gives it", s.ID)
		}
	}
	// Counted by hand in the table of signs.
	want := map[string]int{"told": 10, "closed": 12, "function": 22, "hand_check": 7, "reading": 45, "back_off": 22, "movement_out": 15}
	if !reflect.DeepEqual(perKind, want) {
		t.Errorf("signs by kind %v, want %v", perKind, want)
	}
}

// TestTenDecide: each of the ten first signs has one item that decides, and
// every deciding item shows one of them.
func TestTenDecide(t *testing.T) {
	c := intake.Default()
	first := map[string]string{}
	for _, s := range c.Signs() {
		if s.First {
			first[s.ID] = ""
		}
	}
	if len(first) != 10 {
		t.Fatalf("%d first signs, want 10", len(first))
	}
	mark := func(id string, answers []intake.Answer) {
		any := false
		for _, a := range answers {
			if by, ok := first[a.Sign]; ok && (by == "" || by == id) {
				first[a.Sign], any = id, true
			}
		}
		if !any {
			t.Errorf("%s decides, but shows none of the ten, or another does", id)
		}
	}
	items := c.Deciding(everything)
	for _, d := range items {
		if q, ok := c.Question(d.ID); ok {
			mark(d.ID, q.Answers)
		} else if f, ok := c.Function(d.ID); ok {
			mark(d.ID, f.Answers)
		}
	}
	for s, by := range first {
		if by == "" {
			t.Errorf("no deciding item shows %s", s)
		}
	}
	if len(items) != 10 {
		t.Errorf("%d deciding items, want 10", len(items))
	}
}

// everything is a watch that has all at once, which none has.
var everything = intake.Features{
	Alarm: true, Date: true, Day: true, Month: true, Moon: true, Chronograph: intake.Rattrapante,
	WorldTime: true, SecondZone: true, Repeater: true, PowerReserve: true, TurningBezel: true,
}

// TestWordsArePlain: nothing that cannot be printed, no placeholder, every
// source known, every suggestion a sentence.
func TestWordsArePlain(t *testing.T) {
	c := intake.Default()
	odd := regexp.MustCompile(`[<>{}\[\]|→✓≤≥_#*]|TODO|  |\bAnd/or\b`)
	sentence := regexp.MustCompile(`^[A-Z“].*[.?]$`)
	check := func(id, words string) {
		if odd.MatchString(words) || strings.TrimSpace(words) != words {
			t.Errorf("%s: words %q are not plain", id, words)
		}
	}
	answers := func(id string, as []intake.Answer) {
		for _, a := range as {
			check(id, a.Words)
			check(id, a.Suggests)
			if a.Suggests != "" && !sentence.MatchString(a.Suggests) {
				t.Errorf("%s/%s: %q is no sentence", id, a.ID, a.Suggests)
			}
			for _, w := range a.Where {
				check(id, w)
			}
		}
	}
	for _, q := range c.AllQuestions() {
		check(q.ID, q.Words)
		answers(q.ID, q.Answers)
		if len(q.Answers) == 0 {
			t.Errorf("%s has no answers", q.ID)
		}
	}
	for _, f := range c.AllFunctions() {
		check(f.ID, f.Words)
		answers(f.ID, f.Answers)
		for _, s := range []string{f.Try, f.Guard} {
			if s != "" && !sentence.MatchString(s) {
				t.Errorf("%s: %q is no sentence", f.ID, s)
			}
		}
	}
	for _, w := range c.AllCautions() {
		if !sentence.MatchString(w.Words) || (w.Kind == intake.ForPerson) != strings.HasPrefix(w.ID, "p.") {
			t.Errorf("caution %s: %q (%s)", w.ID, w.Words, w.Kind)
		}
	}
}

// TestWishesDoLeast: the answer that holds unasked is the one that does
// least, by common practice and the program's judgement.
func TestWishesDoLeast(t *testing.T) {
	least := map[string]string{
		"wi.polish": "none", "wi.dial": "untouched", "wi.hands": "untouched", "wi.lume": "untouched", "wi.glass": "keep",
		"wi.crown": "keep", "wi.generic": "ask", "wi.oldparts": "return", "wi.water": "dry", "wi.rating": "none",
		"wi.outwork": "ask", "wi.data": "no", "wi.radium": "closed", "wi.risk": "ask", "wi.photos": "yes",
		"wi.deliver": "collect", "wi.purpose": "seldom", "wi.estimate": "estimate", "wi.limit": "", "wi.strip": "",
		"wi.deadline": "", "wi.value": "", "wi.sign": "",
	}
	for _, w := range intake.Default().Wishes(intake.Features{}) {
		if want, ok := least[w.ID]; !ok || w.Default != want {
			t.Errorf("%s: default %q, want %q", w.ID, w.Default, want)
		}
		if w.Unasked == "" {
			t.Errorf("%s does not say what holds unasked", w.ID)
		}
	}
}

// TestRoundTrip: what is written is read back the same, so that a workshop
// can keep its questions in files.
func TestRoundTrip(t *testing.T) {
	want := intake.Default().AllQuestions()
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	got, err := intake.ReadQuestions(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Error("questions read back differ from those written")
	}
	var whole struct{ Functions []intake.Function }
	text, err = json.Marshal(intake.Default())
	if err == nil {
		err = json.Unmarshal(text, &whole)
	}
	if err != nil || !reflect.DeepEqual(whole.Functions, intake.Default().AllFunctions()) {
		t.Errorf("functions read back differ from those written (%v)", err)
	}
}

// TestSourcesAreUsed: the table of sources has a key for each that is cited,
// which New holds, and no other.
func TestSourcesAreUsed(t *testing.T) {
	text, err := os.ReadFile("data/sources.json")
	if err != nil {
		t.Fatal(err)
	}
	var table map[string]string
	if err := json.Unmarshal(text, &table); err != nil {
		t.Fatal(err)
	}
	all, err := json.Marshal(intake.Default())
	if err != nil {
		t.Fatal(err)
	}
	for key := range table {
		if !regexp.MustCompile(`"source":"([^"]*; )?` + key + `[ ;"]`).Match(all) {
			t.Errorf("source %s is cited by nothing", key)
		}
	}
}

func TestSourcePrints(t *testing.T) {
	for in, want := range map[intake.Source]string{
		"P":                         "common practice",
		"Kleinlein1920 §46, §49; J": "Kleinlein 1920, §46, §49; judgement",
		"":                          "",
		"mine p. 3":                 "mine, p. 3",
	} {
		if got := in.String(); got != want {
			t.Errorf("%q prints %q, want %q", string(in), got, want)
		}
	}
}
