package measure

import (
	"fmt"
	"math"

	"beatwright/balance"
	"beatwright/reading"
	"beatwright/unit"
)

// swing is what the profiles say of the amplitude.
type swing struct {
	standing reading.Standing
	value    float64 // °, or the bound
	u95      float64
	side     [2]float64
	why      string
	odds     float64
	interval float64 // s, mean of the sides
	sd       float64 // s, of the interval
	changing bool    // the swing changed through the stretch
	either   bool    // the first sound is the unlocking or the impulse
}

const (
	// defSec is the standard deviation of an interval by what "onset" means:
	// strikes that swell unlike one another. Measured over simulated watches
	// of many shapes (onset.go).
	defSec = 40e-6
	// enough is the odds at which the first sound is called the unlocking. A
	// wrong swing shown as measured costs more than ten bounds.
	enough = 200.0
	// faintSigmas is what a rise must clear that is known by its place.
	faintSigmas = 3.5
	// strikesApart: a strike's own repeats come within 2 ms; a second sound
	// later than this is another sound.
	strikesApart = 0.0022
)

// weigh decides what the marked sounds of both sides allow to be said.
// scatter is the standard deviation of single beats' dates, s.
func weigh(m [2]sounds, ok [2]bool, period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	if !ok[0] || !ok[1] {
		return swing{standing: reading.NotResolved, why: "no strike stands clear of the noise"}
	}
	if m[0].alone {
		return swing{standing: reading.NotResolved, why: "the two sides sound too unlike to tell which sound of one is which of the other"}
	}
	reconcile(&m)
	if m[0].first == nil || m[1].first == nil {
		return swing{standing: reading.NotResolved, why: "before the drop nothing is heard above the noise, on one side or both: neither unlocking nor impulse"}
	}
	w := weighAs(m, period, lift, scatter)
	w.odds = math.Min(evidence(m[0]), evidence(m[1]))
	if better := math.Max(evidence(m[0]), evidence(m[1])); better > w.odds {
		w.odds *= math.Sqrt(math.Min(better/w.odds, 30))
	}
	switch {
	case math.Abs(w.side[0]-w.side[1]) > apart(w):
		w.bound(m, period, lift, fmt.Sprintf("the first sound of one side would mean %.0f°, that of the other %.0f°: the unlocking is lost on one", math.Min(w.side[0], w.side[1]), math.Max(w.side[0], w.side[1])))
	case w.value > mostSwing:
		w.bound(m, period, lift, "the first sound heard comes too late for an unlocking: it may be the impulse")
	case w.odds < enough:
		w.bound(m, period, lift, whyNot(m))
		w.either = true
	}
	return w
}

// weighAs is the swing if the first sounds are the unlockings.
func weighAs(m [2]sounds, period unit.Seconds, lift unit.Degrees, scatter float64) swing {
	w := swing{standing: reading.Measured}
	for s := range m {
		w.side[s] = float64(balance.Amplitude(lift, unit.Seconds(m[s].interval()), period))
	}
	w.interval = (m[0].interval() + m[1].interval()) / 2
	w.value = float64(balance.Amplitude(lift, unit.Seconds(w.interval), period))
	w.sd = intervalSd(m, scatter)
	w.u95 = 2 * w.sd * slope(w.value, w.interval, period)
	return w
}

// apart is the most that two sides of one watch may differ: their swings by
// some degrees, their sounds by the definition of an onset.
func apart(w swing) float64 { return math.Max(16, 2.5*w.u95) }

// bound turns the swing into at most what the later of the first sounds
// allows.
func (w *swing) bound(m [2]sounds, period unit.Seconds, lift unit.Degrees, why string) {
	t := math.Min(m[0].interval(), m[1].interval())
	a := float64(balance.Amplitude(lift, unit.Seconds(t), period))
	if a > 360 || math.IsNaN(a) {
		w.standing, w.why = reading.NotResolved, why
		return
	}
	w.standing, w.why = reading.AtMost, why
	w.value = a + math.Max(3*w.sd*slope(a, t, period), 1+0.01*a)
}

// slope is |dA/dt|, °/s: A = λ/(2 sin(πt/T)).
func slope(a, t float64, period unit.Seconds) float64 {
	return a * math.Pi / float64(period) / math.Tan(math.Pi*t/float64(period))
}

// intervalSd joins the definition of an onset, the smear of the first sound
// by its own scatter against the beat's date (of which the leading edge keeps
// part) and the noise.
func intervalSd(m [2]sounds, scatter float64) float64 {
	v := defSec*defSec + 0.25*scatter*scatter
	for s := range m {
		// Noise moves the crossing by its own height over the edge's slope.
		o := m[s].first
		steep := (o.first - o.base) / (3 * m[s].s.cell)
		e := m[s].s.noise * math.Max(1, o.base) / steep
		v += e * e / 2
		// A first sound that moves against the drop, beat by beat, is smeared:
		// its edge is wider, and begins too early. A drop that swells more
		// slowly than the first sound is dated too late. Where the edges are
		// unlike, what begins when is as unsure.
		unlike := (m[s].width(*o) - m[s].width(m[s].drop)) / 2
		v += unlike * unlike / 2
		motion := m[s].smearSd * m[s].s.cell
		v += motion * motion / 2
	}
	return math.Sqrt(v)
}

// width is how long a strike takes from the level it is dated at to 0.6 of
// its first height, s.
func (m sounds) width(o onset) float64 {
	return (m.s.at(o, 0.6) - m.s.at(o, math.Min(m.q, 0.5))) * m.s.cell
}

// reconcile looks again where one side shows a first sound much earlier than
// the other: a fainter rise at the same place of the other side, that would
// not have counted alone, counts with it.
func reconcile(m *[2]sounds) {
	for s := range m {
		o := 1 - s
		if m[o].first == nil {
			continue
		}
		t := m[o].interval()
		if m[s].first != nil && m[s].interval() > t-tolerance(t) {
			continue
		}
		if m[s].first != nil && redrop(m, s, o) {
			continue
		}
		for _, c := range m[s].s.onsets(faintSigmas) {
			before := float64(m[s].drop.idx-c.idx) * m[s].s.cell
			if math.Abs(before-t) < tolerance(t) {
				if m[s].impulse == nil {
					m[s].impulse = m[s].first
				}
				m[s].first = &c
				m[s].place()
				break
			}
		}
	}
}

// redrop tries whether side s took its drop too early, or side o too late (a
// second strike louder than the first), and takes the choice under which both
// sides agree.
func redrop(m *[2]sounds, s, o int) bool {
	for _, c := range alternatives(m[o]) {
		try := m[o]
		try.drop = c
		try.place()
		if math.Abs(try.interval()-m[s].interval()) < tolerance(m[s].interval()) && c.idx < m[o].drop.idx {
			m[o] = try
			return true
		}
	}
	for _, c := range alternatives(m[s]) {
		try := m[s]
		try.drop = c
		try.place()
		if math.Abs(try.interval()-m[o].interval()) < tolerance(m[o].interval()) && c.idx > m[s].drop.idx {
			m[s] = try
			return true
		}
	}
	return false
}

// alternatives are the strong rises within a strike's repeats of the drop.
func alternatives(m sounds) (out []onset) {
	for _, c := range m.s.onsets(riseSigmas) {
		far := math.Abs(float64(c.idx-m.drop.idx)) * m.s.cell
		if c.idx != m.drop.idx && far < strikesApart+0.0005 && c.crest > nearlyLoudest*m.drop.crest {
			out = append(out, c)
		}
	}
	return out
}

// tolerance is how far the interval of one side may be from the other's: 5 %
// (10° of 200°) and the onsets' definition.
func tolerance(t float64) float64 { return 0.05*t + 0.0002 }

// evidence is the odds that the first sound of a side is the unlocking and
// not the impulse with the unlocking lost in the noise.
func evidence(m sounds) float64 {
	// How much fainter than the first sound a sound before it could have been
	// and still be seen.
	room := 10 * math.Log10((m.first.crest-1)/m.s.faintest())
	lost := hidden(room)
	lost += (1 - lost) * coveredBefore(m)
	seen, mimic := structure(m)
	return seen / (lost*mimic + 1e-6)
}

// hidden is the chance that an unlocking lies more than room dB below its
// impulse: in watches it is fainter by 8 ± 7 dB (chosen wide).
func hidden(room float64) float64 {
	return 0.5 * math.Erfc((room-8)/7/math.Sqrt2)
}

// structure gives the chance of what lies between the first sound and the
// drop if the first is the unlocking (seen), and if it is the impulse
// (mimic). A complete beat shows the impulse 0.2–0.5 of the way; an impulse's
// own second strike comes within 2 ms and is seldom the louder.
func structure(m sounds) (seen, mimic float64) {
	if m.impulse == nil {
		return 0.05, 0.8
	}
	gap := float64(m.impulse.idx-m.first.idx) * m.s.cell
	part := gap / m.interval()
	if part < 0.12 || part > 0.68 {
		return 0.1, 0.5
	}
	if gap > strikesApart {
		return 0.9, 0.006
	}
	if m.impulse.crest > 2.5*m.first.crest {
		return 0.9, 0.05
	}
	return 0.9, 0.25
}

func whyNot(m [2]sounds) string {
	room := math.Inf(1)
	for _, x := range m {
		room = math.Min(room, 10*math.Log10((x.first.crest-1)/x.s.faintest()))
	}
	return fmt.Sprintf("the first sound heard may be the impulse: an unlocking %.0f dB fainter would be lost in the noise", math.Max(room, 0))
}
