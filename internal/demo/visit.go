package demo

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"beatwright"
	"beatwright/intake"
)

// visit is a job while it is written.
type visit struct {
	*shop
	job   *beatwright.Job
	watch *beatwright.Watch
	f     intake.Features
}

// open writes a watch, if it is new, and a job for it at the clock's time.
func (s *shop) open(w *beatwright.Watch, owner, movement string, j beatwright.Job) *visit {
	var things []beatwright.Thing
	if w.ID == "" {
		w.Entry, w.Owner, w.Movement = s.entry(), s.owners[owner], s.movements[movement]
		things = append(things, w)
	}
	j.Entry, j.Watch, j.Owner, j.Opened = s.entry(), w.ID, s.owners[owner], s.clock.Now()
	if j.State == "" {
		j.State = beatwright.Received
	}
	if j.State.Here() {
		at := s.clock.Now()
		j.Received = &at
	}
	f, unknown := intake.ParseKind(w.What)
	if len(unknown) > 0 && s.err == nil {
		s.err = fmt.Errorf("kind %q: %q is not known", w.What, unknown)
	}
	v := &visit{shop: s, job: &j, watch: w, f: f}
	s.put(j.ID, "job opened: "+w.Name(), append(things, v.job)...)
	return v
}

// now moves the job on.
func (v *visit) now(state beatwright.JobState) {
	v.job.State = state
	if !state.Open() {
		at := v.clock.Now()
		v.job.Ended = &at
	}
	v.put(v.job.ID, "now "+string(state), v.job)
}

// note answers a question of the intake by its id with the words tapped; a
// place is written as @hour.
func (v *visit) note(item string, taps ...string) *beatwright.Finding {
	q, ok := intake.Default().Question(item)
	if !ok {
		v.fail("question %s is not asked", item)
		return nil
	}
	f := &beatwright.Finding{Entry: v.entry(), Job: v.job.ID, Group: string(q.Group), Item: item, What: q.Words, At: v.clock.Now()}
	g := intake.Given{}
	for _, tap := range taps {
		if place, ok := strings.CutPrefix(tap, "@"); ok {
			f.Where = append(f.Where, place)
			continue
		}
		f.Answers = append(f.Answers, tap)
		g.Taps = append(g.Taps, intake.Tap{Answer: tap})
	}
	v.says(f, q)
	f.Signs, _ = intake.Default().Evidence(v.f, intake.Answers{item: g})
	v.put(v.job.ID, "noted: "+strings.ToLower(f.What[:1])+f.What[1:], f)
	return f
}

// says draws from the answers what the finding says, suggests and amounts to.
func (v *visit) says(f *beatwright.Finding, q intake.Question) {
	var words, suggests []string
	for _, id := range f.Answers {
		i := slices.IndexFunc(q.Answers, func(a intake.Answer) bool { return a.ID == id })
		if i < 0 {
			v.fail("question %s has no answer %s", q.ID, id)
			return
		}
		a := q.Answers[i]
		words = append(words, a.Words)
		if a.Suggests != "" && !slices.Contains(suggests, a.Suggests) {
			suggests = append(suggests, a.Suggests)
		}
		if f.Condition == "" || f.Condition == beatwright.Sound {
			f.Condition = beatwright.Condition(a.Condition)
		}
	}
	if len(words) > 0 {
		about := q.Words
		if q.Part != "" && q.Group != intake.Told {
			about = strings.ToUpper(q.Part[:1]) + q.Part[1:]
		}
		f.What = about + ": " + strings.Join(words, ", ")
	}
	f.Suggests = strings.Join(suggests, " ")
}

func (v *visit) fail(format string, args ...any) {
	if v.err == nil {
		v.err = fmt.Errorf(format, args...)
	}
}

// clear says of all else in a group that there was nothing to note.
func (v *visit) clear(group intake.Group) {
	if v.err != nil {
		return
	}
	p, err := v.bench.Job(v.ctx, string(v.job.ID))
	if err != nil {
		v.err = err
		return
	}
	answered := intake.Answers{}
	for _, f := range p.Findings {
		answered[f.Item] = intake.Given{None: f.None}
	}
	_, ids := intake.Default().Clear(v.f, group, answered)
	var things []beatwright.Thing
	for _, q := range intake.Default().Questions(v.f, group) {
		if slices.Contains(ids, q.ID) {
			things = append(things, &beatwright.Finding{Entry: v.entry(), Job: v.job.ID, Group: string(group), Item: q.ID, What: q.Words, None: true, At: v.clock.Now()})
		}
	}
	if len(things) > 0 {
		v.put(v.job.ID, "nothing else to note: "+strings.ToLower(group.Words()), things...)
	}
}

// works writes that functions work, in one line of the history.
func (v *visit) works(items ...string) {
	var things []beatwright.Thing
	for _, item := range items {
		if c, _ := v.tried(item); c != nil {
			things = append(things, c)
		}
	}
	v.put(v.job.ID, fmt.Sprintf("tried by hand: %d functions work", len(things)), things...)
}

// try writes how a function went by the words tapped.
func (v *visit) try(item string, answers ...string) {
	if c, outcome := v.tried(item, answers...); c != nil {
		v.put(v.job.ID, strings.ToLower(c.What[:1])+c.What[1:]+": "+outcome.Words(), c)
	}
}

// tried is how a function went by the words tapped; without one, it works.
func (v *visit) tried(item string, answers ...string) (*beatwright.FunctionCheck, intake.Outcome) {
	fn, ok := intake.Default().Function(item)
	if !ok {
		v.fail("function %s is not tried", item)
		return nil, ""
	}
	c := &beatwright.FunctionCheck{Entry: v.entry(), Job: v.job.ID, Item: item, What: fn.Words, Result: beatwright.Works, At: v.clock.Now()}
	g := intake.Given{Outcome: intake.Works}
	for _, id := range answers {
		i := slices.IndexFunc(fn.Answers, func(a intake.Answer) bool { return a.ID == id })
		if i < 0 {
			v.fail("function %s has no answer %s", item, id)
			return nil, ""
		}
		g.Outcome = fn.Answers[i].Outcome
		c.Result, c.Answers = beatwright.Result(g.Outcome), append(c.Answers, id)
		g.Taps = append(g.Taps, intake.Tap{Answer: id})
	}
	c.Signs, _ = intake.Default().Evidence(v.f, intake.Answers{item: g})
	return c, g.Outcome
}

// todo notes what wants doing at a time; a day's first minute is any time of it.
func (v *visit) todo(text string, due time.Time) {
	v.put(v.job.ID, "to do: "+text, &beatwright.Note{Entry: v.entry(), Job: v.job.ID, Text: text, At: v.clock.Now(), Due: &due})
}

// remember notes something without a time.
func (v *visit) remember(text string) {
	v.put(v.job.ID, "noted: "+text, &beatwright.Note{Entry: v.entry(), Job: v.job.ID, Text: text, At: v.clock.Now()})
}

// move says where a thing went.
func (v *visit) move(what, from, to string) {
	v.put(v.job.ID, what+" moved to "+to, &beatwright.Move{Entry: v.entry(), Job: v.job.ID, What: what, From: from, To: to, Who: who, At: v.clock.Now()})
}

// handCheck keeps what the hands gained, s, over so many hours.
func (v *visit) handCheck(gained, hours float64, note string) {
	h := &beatwright.HandCheck{Entry: v.entry(), Job: v.job.ID, ChangeS: gained, OverS: hours * 3600, ReadToS: 1, Stage: v.job.DefaultStage(), Note: note, At: v.clock.Now()}
	v.put(v.job.ID, "hand check", h)
}

// settle takes a part off the list of what stands open.
func (v *visit) settle(f *beatwright.Finding, how, why string) {
	if f == nil {
		return
	}
	f.Settled = &beatwright.Settled{How: how, Why: why, At: v.clock.Now()}
	v.put(v.job.ID, how+": "+f.What, f)
}
