package synth

import (
	"math"

	"beatwright/unit"
)

// Truth is what a perfect listener would say of a scene.
type Truth struct {
	Scene Scene `json:"scene"`
	// Process is what the watch was made to do, at its start.
	Process Process `json:"process"`
	// Second is what the second watch was made to do.
	Second *Process `json:"second,omitempty"`
	// Sampled is what its beats, jitter included, did in the longest stretch
	// without a change; nil under four beats.
	Sampled *Sampled `json:"sampled"`
	// Stretches are all that no change breaks, in order.
	Stretches []Stretch `json:"stretches,omitempty"`
	// Changes are the times at which something broke the steady running.
	Changes []Change `json:"changes,omitempty"`
	// Beats are all that sounded, where they were asked for.
	Beats []Beat `json:"beats,omitempty"`
}

// Process is the watch without its random displacement.
type Process struct {
	Beat unit.Seconds       `json:"beat_s"`
	Rate unit.SecondsPerDay `json:"rate_s_per_day"`
	// RecordedRate is Rate as the file shows it: with the clock's error.
	RecordedRate unit.SecondsPerDay `json:"recorded_rate_s_per_day"`
	// BeatError is half the difference of alternate middles, as is heard;
	// at low amplitude it is a little more than that of the crossings.
	BeatError unit.Milliseconds `json:"beat_error_ms"`
	// BeatAngle is how far rest lies off the line of centres.
	BeatAngle unit.Degrees `json:"beat_error_deg"`
	// Amplitude and Interval (unlocking to drop) are at the start, mean of
	// the sides.
	Amplitude unit.Degrees      `json:"amplitude_deg"`
	Interval  unit.Milliseconds `json:"interval_ms"`
}

// Sampled is the answer that the beats of a stretch themselves give, on the
// file's time.
type Sampled struct {
	Beats int `json:"beats"`
	// Beat is the least-squares slope of the middles over their number, with
	// one offset for each side; Rate follows from it, TrueRate with the
	// clock's error taken off.
	Beat     unit.Seconds       `json:"beat_s"`
	Rate     unit.SecondsPerDay `json:"rate_s_per_day"`
	TrueRate unit.SecondsPerDay `json:"true_rate_s_per_day"`
	// CentreRate is that of the centres: without the sounds' own jitter.
	CentreRate unit.SecondsPerDay `json:"centre_rate_s_per_day"`
	// BeatError is half the difference of alternate beats, by middles, by
	// unlockings and by drops; never negative.
	BeatError            unit.Milliseconds `json:"beat_error_ms"`
	BeatErrorByUnlocking unit.Milliseconds `json:"beat_error_by_unlocking_ms"`
	BeatErrorByDrop      unit.Milliseconds `json:"beat_error_by_drop_ms"`
	// Amplitude is the mean over beats; First and Second by side; Least and
	// Greatest bound it.
	Amplitude unit.Degrees `json:"amplitude_deg"`
	First     unit.Degrees `json:"first_deg"`
	Second    unit.Degrees `json:"second_deg"`
	Least     unit.Degrees `json:"least_deg"`
	Greatest  unit.Degrees `json:"greatest_deg"`
	// Interval is the mean from unlocking to drop.
	Interval unit.Milliseconds `json:"interval_ms"`
	// Scatter is the rms of the middles about their line.
	Scatter unit.Milliseconds `json:"scatter_ms"`
}

// Stretch is a part of the file that no change breaks.
type Stretch struct {
	From    unit.Seconds       `json:"from_s"`
	To      unit.Seconds       `json:"to_s"`
	Rate    unit.SecondsPerDay `json:"rate_s_per_day"` // the process's, true
	Sampled *Sampled           `json:"sampled"`
}

// What a change was.
const (
	PhaseStep = "phase step"
	StepRate  = "rate step"
	Turned    = "turned"
	Handled   = "handling ends"
	Started   = "started"
	Stopped   = "stopped"
	Gap       = "gap"
	Insertion = "insertion"
)

// Change broke the steady running.
type Change struct {
	At   unit.Seconds `json:"at_s"` // in the file
	What string       `json:"what"`
	// Ms is the size of a phase step or the length of a gap or insertion.
	Ms unit.Milliseconds `json:"ms,omitempty"`
	// PerDay is the size of a rate step.
	PerDay unit.SecondsPerDay `json:"s_per_day,omitempty"`
}

// line fits t = a + b·k ± c by least squares, k the beat's number and the
// sign its side, from sums alone. Times are kept from a first guess of the
// line, so that a day of beats loses no digits.
type line struct {
	n, sk, ss, skk, sks float64
	t, tk, ts, tt       float64
	k0                  int
	t0, beat            float64
}

func (l *line) add(k, side int, t, beat float64) {
	if l.n == 0 {
		l.k0, l.t0, l.beat = k, t, beat
	}
	x := float64(k - l.k0)
	s := 1.0 - 2*float64(side)
	r := t - l.t0 - x*l.beat
	l.n++
	l.sk += x
	l.ss += s
	l.skk += x * x
	l.sks += x * s
	l.t += r
	l.tk += r * x
	l.ts += r * s
	l.tt += r * r
}

// solve gives the slope, the half difference of alternate beats (2c) and the
// rms about the line.
func (l *line) solve() (beat, halfDifference, rms float64, ok bool) {
	if l.n < 4 {
		return 0, 0, 0, false
	}
	// Normal equations with the means taken out.
	kk, ks, ss := l.skk-l.sk*l.sk/l.n, l.sks-l.sk*l.ss/l.n, l.n-l.ss*l.ss/l.n
	tk, ts := l.tk-l.t*l.sk/l.n, l.ts-l.t*l.ss/l.n
	det := kk*ss - ks*ks
	if !(det > 0) {
		return 0, 0, 0, false
	}
	b, c := (tk*ss-ts*ks)/det, (ts*kk-tk*ks)/det
	rest := l.tt - l.t*l.t/l.n - b*tk - c*ts
	return l.beat + b, 2 * c, math.Sqrt(math.Max(0, rest/(l.n-3))), true
}

// tally gathers the beats of a stretch.
type tally struct {
	middle, centre, unlock, drop line

	n         [2]float64
	amplitude [2]float64
	interval  float64
	least     float64
	greatest  float64
	from, to  unit.Seconds
	rate      unit.SecondsPerDay
}

func (t *tally) add(b Beat, beat float64) {
	t.middle.add(b.Number, b.Side, float64(b.Middle), beat)
	t.centre.add(b.Number, b.Side, float64(b.Centre), beat)
	t.unlock.add(b.Number, b.Side, float64(b.Unlocking), beat)
	t.drop.add(b.Number, b.Side, float64(b.Drop), beat)
	a := float64(b.Amplitude)
	if t.n[0]+t.n[1] == 0 {
		t.least, t.greatest, t.from = a, a, b.Unlocking
	}
	t.n[b.Side]++
	t.amplitude[b.Side] += a
	t.interval += float64(b.Drop - b.Unlocking)
	t.least, t.greatest = math.Min(t.least, a), math.Max(t.greatest, a)
	t.to = b.Drop
}

func (t *tally) sampled(vph unit.BeatsPerHour, clock unit.PPM) *Sampled {
	beat, d, rms, ok := t.middle.solve()
	if !ok {
		return nil
	}
	centre, _, _, _ := t.centre.solve()
	_, du, _, _ := t.unlock.solve()
	_, dd, _, _ := t.drop.solve()
	n := t.n[0] + t.n[1]
	return &Sampled{
		Beats: int(n), Beat: unit.Seconds(beat),
		Rate:                 RateOf(vph, unit.Seconds(beat)),
		TrueRate:             RateOf(vph, unit.Seconds(beat/clockFactor(clock))),
		CentreRate:           RateOf(vph, unit.Seconds(centre)),
		BeatError:            unit.Seconds(math.Abs(d)).Milliseconds(),
		BeatErrorByUnlocking: unit.Seconds(math.Abs(du)).Milliseconds(),
		BeatErrorByDrop:      unit.Seconds(math.Abs(dd)).Milliseconds(),
		Amplitude:            unit.Degrees((t.amplitude[0] + t.amplitude[1]) / n),
		First:                unit.Degrees(t.amplitude[0] / t.n[0]),
		Second:               unit.Degrees(t.amplitude[1] / t.n[1]),
		Least:                unit.Degrees(t.least),
		Greatest:             unit.Degrees(t.greatest),
		Interval:             unit.Seconds(t.interval / n).Milliseconds(),
		Scatter:              unit.Seconds(rms).Milliseconds(),
	}
}

// clockFactor is how many seconds of the file a second of the world makes.
func clockFactor(c unit.PPM) float64 { return 1 + float64(c)*1e-6 }

// processOf is the process at the watch's start.
func processOf(w Watch, clock unit.PPM) Process {
	period := Period(w.BeatsPerHour, w.Rate)
	amplitude := w.Swing.At(0)
	m := motion{period: float64(period), amplitude: float64(amplitude), beta: float64(BeatAngle(w.BeatError, amplitude, period))}
	early, late := float64(w.LiftShift-w.Lift/2), float64(w.LiftShift+w.Lift/2)
	first := (m.after(early) + m.after(late)) / 2
	interval := m.after(late) - m.after(early)
	m.side = 1
	second := (m.after(early) + m.after(late)) / 2
	interval = (interval + m.after(late) - m.after(early)) / 2
	if math.IsNaN(interval) { // the swing does not reach through the lift
		first, second, interval = 0, 0, 0
	}
	return Process{
		Beat: period / 2, Rate: w.Rate,
		RecordedRate: RateOf(w.BeatsPerHour, period/2*unit.Seconds(clockFactor(clock))),
		BeatError:    unit.Seconds(math.Abs(first - second)).Milliseconds(),
		BeatAngle:    unit.Degrees(math.Abs(m.beta)),
		Amplitude:    amplitude, Interval: unit.Seconds(interval).Milliseconds(),
	}
}
