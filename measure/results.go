package measure

import (
	"fmt"
	"math"
	"path/filepath"

	"beatwright/beat"
	"beatwright/movement"
	"beatwright/reading"
	"beatwright/unit"
)

// commonRates are the beat rates a watch is taken to be meant for when it
// beats within two per cent of one.
var commonRates = []unit.BeatsPerHour{14400, 16200, 17280, 18000, 19800, 21600, 25200, 28800, 36000}

const (
	nearRate = 0.02
	// farRate is how far from the beat rate given a watch may beat unremarked.
	farRate = 0.05
	// uncheckedPPM is the 95 % limit of a sound card's clock never checked:
	// rectangular ± 50 ppm (common practice for crystal oscillators), of which
	// 95 % is 47.5.
	uncheckedPPM = 47.5
	// assumedLift is what most levers of the last seventy years have, within
	// movement.AssumedLiftU95 (common practice; from memory).
	assumedLift unit.Degrees = 52
)

// results makes the readings of a hearing.
func (h *hearing) results(name string, o Options) []Result {
	if o.Every <= 0 {
		return []Result{h.result(name, o, 0, unit.Seconds(math.Inf(1)))}
	}
	var out []Result
	for k := 0; ; k++ {
		from, to := unit.Seconds(k)*o.Every, unit.Seconds(k+1)*o.Every
		if to > h.length+1e-9 {
			return out
		}
		out = append(out, h.result(name, o, from, to))
	}
}

func (h *hearing) result(name string, o Options, from, to unit.Seconds) Result {
	all, changes := stretches(h.engine.Runs(), from, to)
	if o.Every <= 0 {
		h.judge(all)
	}
	best, ok := longest(all)
	res := Result{Reading: reading.Reading{File: filepath.ToSlash(name)}}
	if !ok {
		if math.IsInf(float64(to), 1) {
			to = h.length
		}
		r := h.refusal(len(all) > 0, to-from)
		res.Refusal = &r
		return res
	}
	v := look(best, liftOf(o).angle)
	// Where an earlier window was a watch beyond doubt this one is, however unlike
	// its beats are while the swing falls.
	if why := unlike(best, v); why != "" && h.known == nil {
		res.Refusal = &reading.Refusal{Code: reading.Periodic, Why: why}
		return res
	}
	if res.Refusal = h.doubt(best, v, liftOf(o).angle); res.Refusal != nil {
		return res
	}
	w, p, profiles := h.watch(best, v, o)
	if p.kept < leastBeats {
		h.known = nil
		few := h.refusal(true, min(to, h.length)-from)
		res.Refusal = &few
		return res
	}
	res.Profiles = profiles[:]
	w.Changes = append(w.Changes, h.changesIn(from, to)...)
	w.Changes = append(w.Changes, changes...)
	w.Others = append(w.Others, h.others(from, to)...)
	w.Changes = append(w.Changes, arrivals(w.Others)...)
	w.Warnings = append(w.Warnings, besideWarnings(w)...)
	if math.IsInf(float64(to), 1) {
		w.Changes = append(w.Changes, h.stop(all, liftOf(o).angle)...)
	}
	w.Changes = inOrder(w.Changes)
	w.Warnings = append(w.Warnings, h.warnings...)
	res.Watch = &w
	res.Beats = p.list(all)
	return res
}

func (h *hearing) changesIn(from, to unit.Seconds) (out []reading.Change) {
	for _, c := range h.changes {
		if c.At >= from && c.At < to {
			out = append(out, c)
		}
	}
	return out
}

func inOrder(cs []reading.Change) []reading.Change {
	out := make([]reading.Change, 0, len(cs))
	for _, c := range cs {
		i := len(out)
		for i > 0 && out[i-1].At > c.At {
			i--
		}
		out = append(out[:i], append([]reading.Change{c}, out[i:]...)...)
	}
	return out
}

// watch measures a stretch.
func (h *hearing) watch(st stretch, v view, o Options) (reading.Watch, pace, [2]Profile) {
	lift := liftOf(o)
	sw := h.cautious(v.swing(st.period, lift.angle, 0))
	mid, trendSd := v.middles(st, sw.standing == reading.Measured)
	near := v.near(st)
	if near != nil {
		mid, trendSd = func(float64) float64 { return 0 }, unheardTrend
	}
	if sw.changing && sw.standing != reading.Measured {
		trendSd = math.Hypot(trendSd, lostTrend(st.span()))
	}
	bent := bentUnheard
	if sw.standing == reading.Measured {
		bent = bentMeasured
	}
	p := timing(st.beats, mid, trendSd, bent)
	waves := p.recurring()
	sw = h.cautious(h.carry(v, v.swing(unit.Seconds(2*p.beat), lift.angle, p.line.Scale), unit.Seconds(2*p.beat), lift.angle, p.line.Scale))
	from, to := st.keptSpan()
	sw = near.doubt(sw, v)
	w := reading.Watch{
		Beats: p.kept, BeatsRejected: counted(p.beats) - p.kept, Lift: lift.reading(),
		From: from, To: to,
		Clock:    reading.Clock{Standing: reading.Uncalibrated, U95PPM: uncheckedPPM},
		Periodic: []reading.Periodicity{}, Changes: []reading.Change{}, Warnings: []string{},
	}
	w.Signal = reading.Signal{SNR: snr(v.m), Clipped: h.level.clipped(), Lossy: h.format.Lossy}
	setRate(&w, p, o)
	setRecurring(&w, p, waves, o)
	if s := h.course.swingWaves(w.From, w.To, sw, unit.Seconds(2*p.beat), lift.angle); s != nil && near == nil {
		sw = s.unsmear(sw, v, unit.Seconds(2*p.beat))
		s.set(&w, sw, trainOf(o.Movement, w.BeatsPerHour))
	}
	setAmplitude(&w, sw, lift, o)
	setBeatError(&w, p, v, sw)
	near.tell(&w, v, p)
	w.Settling = settling(v.parts)
	warn(&w, h)
	if sw.either && sw.standing == reading.AtMost {
		w.Warnings = append(w.Warnings, fmt.Sprintf("either the first sound is the unlocking, and it swings about %.0f°; or it is the impulse and the unlocking is lost, and it swings less: a quieter room, the pickup on the case, or a longer hearing would settle it", (sw.side[0]+sw.side[1])/2))
	}
	return w, p, profilesOf(v, sw)
}

// carry lets a window learn from the one before it, as segments of one stretch
// do (view.go), and keeps what the next may learn.
func (h *hearing) carry(v view, sw swing, period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	now := part{m: v.m, ok: v.ok, sw: sw}
	if h.known != nil && sw.either && sw.standing == reading.AtMost && continues(now, *h.known) {
		sw = weighAs(v.m, period, lift, scatter)
		sw.odds = enough
	}
	h.known = nil
	if now.complete() && sw.standing == reading.Measured {
		h.known = &now
	}
	return sw
}

// cautious takes back what a lossy source cannot support: its coding smears
// sound to before a loud strike and gates what is faint, just where the
// unlocking lies.
func (h *hearing) cautious(sw swing) swing {
	if !h.format.Lossy || sw.standing != reading.Measured {
		return sw
	}
	sw.u95 *= 1.5
	if sw.odds < 100*enough {
		sw.standing = reading.AtMost
		sw.value += sw.u95
		sw.why = "the sound was stored with loss, which can hide a faint unlocking"
	}
	return sw
}

func setRate(w *reading.Watch, p pace, o Options) {
	ms, u := p.beat*1e3, p.u95*1e3
	w.BeatTime = reading.Clocked{Value: ms, U95: math.Hypot(u, ms*uncheckedPPM*1e-6), U95Statistical: u}
	nominal, ok := nominalRate(3600/p.beat, o)
	if !ok {
		w.Warnings = append(w.Warnings, fmt.Sprintf("it beats %.0f times an hour, which is near no common beat rate: the rate cannot be told unless the beat rate is given", 3600/p.beat))
		return
	}
	w.BeatsPerHour = &nominal
	if heard := 3600 / p.beat; math.Abs(heard/float64(nominal)-1) > farRate {
		w.Warnings = append(w.Warnings, fmt.Sprintf("it beats %.0f times an hour, far from the %.0f given: the rate is against what was given; check the beat rate", heard, float64(nominal)))
	}
	rate := rateOf(nominal, p.beat, p.u95)
	w.Rate = &rate
}

// rateOf is the rate of a mean beat with its half-width by the sound alone, s.
func rateOf(nominal unit.BeatsPerHour, beat, u95 float64) reading.Clocked {
	ratio := float64(nominal.Beat()) / beat
	stat := float64(unit.Day) * ratio * u95 / beat
	clock := float64(unit.PPM(uncheckedPPM).PerDay()) * ratio
	return reading.Clocked{Value: float64(unit.Day) * (ratio - 1), U95: math.Hypot(stat, clock), U95Statistical: stat}
}

// nominalRate is the beat rate given, or the common one within two per cent.
func nominalRate(heard float64, o Options) (unit.BeatsPerHour, bool) {
	if o.BeatsPerHour != nil {
		return *o.BeatsPerHour, true
	}
	if o.Movement != nil && o.Movement.BeatsPerHour != nil {
		return *o.Movement.BeatsPerHour, true
	}
	return commonRate(heard)
}

// commonRate is the common beat rate within two per cent.
func commonRate(heard float64) (unit.BeatsPerHour, bool) {
	best, off := unit.BeatsPerHour(0), nearRate
	for _, r := range commonRates {
		if d := math.Abs(heard/float64(r) - 1); d < off {
			best, off = r, d
		}
	}
	return best, best > 0
}

type lift struct {
	angle, u95 unit.Degrees
	standing   reading.Standing
}

func (l lift) reading() reading.Lift {
	return reading.Lift{Value: float64(l.angle), U95: float64(l.u95), Standing: l.standing}
}

func liftOf(o Options) lift {
	l := lift{assumedLift, movement.AssumedLiftU95, reading.Assumed}
	if o.Movement != nil {
		if angle, u95, standing, ok := o.Movement.KnownLift(); ok {
			l = lift{angle, u95, reading.Standing(standing)}
		}
	}
	if o.Lift != nil {
		l = lift{*o.Lift, o.LiftU95, reading.Given}
		if o.LiftStanding != "" {
			l.standing = o.LiftStanding
		}
	}
	return l
}

func setAmplitude(w *reading.Watch, sw swing, l lift, o Options) {
	a := &w.Amplitude
	if mv := o.Movement; mv != nil && mv.Escapement != "" && mv.Escapement != movement.Lever {
		a.Standing = reading.NotResolved
		a.Why = fmt.Sprintf("not defined from this sound, because a %s escapement does not sound where the balance enters and leaves a lift", mv.Escapement)
		return
	}
	a.Standing, a.Why = sw.standing, sw.why
	if sw.standing == reading.NotResolved {
		return
	}
	v := sw.value
	a.Value = &v
	if sw.standing != reading.Measured {
		return
	}
	u := sw.u95
	withLift := math.Hypot(u, v*float64(l.u95/l.angle))
	a.U95, a.U95WithLift = &u, &withLift
	f, s := sw.side[0], sw.side[1]
	a.First, a.Second = &f, &s
}

// snr is the peak of the averaged drop over the noise of the band, dB.
func snr(m [2]sounds) unit.Decibels {
	best := 0.0
	for _, x := range m {
		best = math.Max(best, x.drop.crest)
	}
	return unit.DB(math.Max(best, 1e-3))
}

func warn(w *reading.Watch, h *hearing) {
	add := func(s string) { w.Warnings = append(w.Warnings, s) }
	if w.Signal.Clipped {
		add("the sound is clipped: turn the gain down")
	}
	if w.Signal.Lossy {
		add("the sound was stored with loss (" + h.format.Kind + "): the unlocking may be smeared or cut away; a WAV or FLAC would tell more")
	}
}

// counted is how many beats were heard or looked for; in a hearing of hours
// one of bs stands for several.
func counted(bs []beat.Beat) int {
	n := 0
	for _, b := range bs {
		n += b.Count()
	}
	return n
}

// list gives all beats looked for, those of the measured stretch with their
// residuals.
func (p pace) list(all []stretch) []Beat {
	var out []Beat
	for _, s := range all {
		for i, b := range s.beats {
			x := Beat{At: b.At, Side: b.Side() + 1, Rejected: b.Why != "", Reason: string(b.Why)}
			if len(p.beats) > 0 && len(s.beats) > 0 && &p.beats[0] == &s.beats[0] {
				x.ResidualMs = p.resid[i] * 1e3
				if x.Reason == "" && p.off[i] {
					x.Rejected, x.Reason = true, string(beat.OffLine)
				}
			}
			out = append(out, x)
		}
	}
	return out
}
