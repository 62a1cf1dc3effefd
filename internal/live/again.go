package live

import (
	"context"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/internal/say"
	"beatwright/measure"
	"beatwright/movement"
	"beatwright/sound"
	"beatwright/unit"
)

// Again measures a kept hearing with another lift angle, or, with lift nil,
// with what is known of the movement by now. The earlier readings stay.
func (b *Bench) Again(ctx context.Context, hearing beatwright.ID, lift *unit.Degrees, who string) (*beatwright.Reading, error) {
	if lift != nil {
		if err := movement.CheckLift(*lift); err != nil {
			return nil, &beatwright.Error{Code: beatwright.Wrong, Field: "lift_deg", Text: "lift_deg", Err: err}
		}
	}
	h, err := beatwright.Load[*beatwright.Hearing](ctx, b, beatwright.KindHearing, hearing)
	if err != nil {
		return nil, err
	}
	p, err := b.Job(ctx, string(h.Job))
	if err != nil {
		return nil, err
	}
	res, err := b.replay(ctx, h, b.options(p, lift))
	if err != nil {
		return nil, err
	}
	r := &beatwright.Reading{Entry: b.newEntry(), Job: h.Job, Hearing: h.ID, By: b.By, At: b.Now(), Says: res.Reading}
	what := "measured again"
	if res.Watch != nil {
		what += " with lift " + say.Unit(say.Plain(res.Watch.Lift.Value), "°")
	}
	if h.Position != "" {
		what += ", " + h.Position
	}
	_, err = b.Apply(ctx, beatwright.Change{Who: who, What: what, Job: h.Job, Put: []beatwright.Thing{r}})
	if err != nil {
		return nil, err
	}
	b.results.put(r.ID, res)
	return r, nil
}

// Behind gives what stands behind a reading, its beats and profiles: from
// memory, or by measuring the kept sound again as it was measured then.
func (b *Bench) Behind(ctx context.Context, id beatwright.ID) (measure.Result, error) {
	if res, ok := b.results.get(id); ok {
		return res, nil
	}
	r, err := beatwright.Load[*beatwright.Reading](ctx, b, beatwright.KindReading, id)
	if err != nil {
		return measure.Result{}, err
	}
	h, err := beatwright.Load[*beatwright.Hearing](ctx, b, beatwright.KindHearing, r.Hearing)
	if err != nil {
		return measure.Result{}, err
	}
	p, err := b.Job(ctx, string(h.Job))
	if err != nil {
		return measure.Result{}, err
	}
	o := b.options(p, nil)
	if w := r.Says.Watch; w != nil {
		l := unit.Degrees(w.Lift.Value)
		o.Lift, o.LiftU95, o.LiftStanding = &l, unit.Degrees(w.Lift.U95), w.Lift.Standing
	}
	res, err := b.replay(ctx, h, o)
	if err == nil {
		b.results.put(id, res)
	}
	return res, err
}

func (b *Bench) replay(ctx context.Context, h *beatwright.Hearing, o measure.Options) (measure.Result, error) {
	var res measure.Result
	if h.Sound == "" {
		return res, beatwright.NotFound("kept sound of hearing", string(h.ID))
	}
	name, err := files.ParseName(h.Sound)
	if err != nil {
		return res, err
	}
	if err := b.working.take(ctx); err != nil {
		return res, err
	}
	defer b.working.give()
	f, err := b.Folder.Open(name)
	if err != nil {
		return res, err
	}
	defer f.Close()
	in, err := sound.NewReader(ctx, h.From, f)
	if err != nil {
		return res, err
	}
	defer in.Close()
	var r sound.Reader = in
	if h.Lossy {
		r = lossy{in}
	}
	err = b.Hear(ctx, h.From, r, o, func(one measure.Result) error {
		res = one
		return nil
	})
	res.Reading.File = h.From
	return res, err
}

// lossy is a sound that came in a lossy form and is kept without further loss:
// the engine must still be told.
type lossy struct{ sound.Reader }

func (l lossy) Format() sound.Format {
	f := l.Reader.Format()
	f.Lossy = true
	return f
}
