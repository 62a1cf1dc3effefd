package synth

import (
	"math"
	"testing"

	"beatwright/unit"
)

// Without random displacement the beats are the process.
func TestSampledIsProcess(t *testing.T) {
	for _, w := range []Watch{
		{},
		{BeatsPerHour: 18000, Rate: -312.5, BeatError: 2.2, Lift: 44, Swing: Swing{Start: 140}},
		{BeatsPerHour: 36000, Rate: 41, BeatError: -0.7, Swing: Swing{Start: 255, SideDifference: 8}},
		{BeatsPerHour: 23456, Rate: 3, LiftShift: 3, Swing: Swing{Start: 200}},
	} {
		_, truth := render(t, Scene{Watch: &w, ClockPPM: 120})
		p, s := truth.Process, *truth.Sampled
		near(t, "recorded rate", float64(s.Rate), float64(p.RecordedRate), 1e-6)
		near(t, "true rate", float64(s.TrueRate), float64(w.Rate), 1e-6)
		near(t, "centre rate", float64(s.CentreRate), float64(s.Rate), 1e-6)
		near(t, "scatter", float64(s.Scatter), 0, 1e-6)
		near(t, "amplitude", float64(s.Amplitude), float64(p.Amplitude), 0.05)
		near(t, "difference of sides", float64(s.First-s.Second), float64(w.Swing.SideDifference), 1e-6)
		if w.Swing.SideDifference == 0 {
			near(t, "beat error", float64(s.BeatError), float64(p.BeatError)*1.00012, 1e-6)
			near(t, "interval", float64(s.Interval), float64(p.Interval)*1.00012, 1e-6)
		}
		if w.LiftShift == 0 && w.Swing.SideDifference == 0 {
			near(t, "beat error by unlocking", float64(s.BeatErrorByUnlocking), float64(s.BeatError), 1e-9)
			near(t, "beat error by drop", float64(s.BeatErrorByDrop), float64(s.BeatError), 1e-9)
		}
	}
}

// With it they scatter about the process as least squares says: the slope of
// N beats with scatter σ has a standard deviation of σ·sqrt(12/N³).
func TestSampledScattersAboutProcess(t *testing.T) {
	const n, beat = 239, 0.125
	sum, count := 0.0, 60
	for seed := range count {
		_, truth := render(t, Scene{Seed: uint64(seed), Watch: &Watch{Jitter: Jitter{Centre: 0.1, Unlocking: 0.06, Drop: 0.06}}})
		d := float64(truth.Sampled.Rate) / 86400 * beat
		sum += d * d
		near(t, "scatter, ms", float64(truth.Sampled.Scatter), math.Hypot(0.1, 0.06/math.Sqrt2), 0.02)
	}
	got := math.Sqrt(sum / float64(count))
	want := math.Hypot(1e-4, 0.6e-4/math.Sqrt2) * math.Sqrt(12/math.Pow(n, 3))
	near(t, "slope's deviation, of what is expected", got/want, 1, 0.3) // 60 draws: ± 9 % (1σ)
}

// A clock that is fast by 1 ppm makes the watch seem to lose 0.0864 s/d.
func TestClock(t *testing.T) {
	_, truth := render(t, Scene{Watch: &Watch{}, ClockPPM: 50})
	near(t, "rate as recorded", float64(truth.Sampled.Rate), -4.32, 0.001)
}

func TestJitterKinds(t *testing.T) {
	rms := func(j Jitter, of func(Beat) float64) (sum float64, step float64) {
		_, truth := render(t, Scene{Rate: 8000, Duration: 600, Watch: &Watch{BeatsPerHour: 36000, Jitter: j}})
		_, plain := render(t, Scene{Rate: 8000, Duration: 600, Watch: &Watch{BeatsPerHour: 36000}})
		last := 0.0
		for i, b := range plain.Beats[:5990] {
			d := 1e3 * (of(truth.Beats[i]) - of(b))
			sum += d * d / 5990
			step += d * last / 5990
			last = d
		}
		return math.Sqrt(sum), step / sum
	}
	unlocking := func(b Beat) float64 { return float64(b.Unlocking) }
	middle := func(b Beat) float64 { return float64(b.Middle) }
	got, _ := rms(Jitter{Unlocking: 0.08}, unlocking)
	near(t, "unlocking", got, 0.08, 0.003)
	got, _ = rms(Jitter{Drop: 0.08}, middle)
	near(t, "middle by drop", got, 0.04, 0.002)
	got, memory := rms(Jitter{Slow: 0.08, Memory: 0.7}, middle)
	near(t, "slow", got, 0.08, 0.008)
	near(t, "memory", memory, 0.7, 0.04)
	_, memory = rms(Jitter{Centre: 0.08}, middle)
	near(t, "memory of the centre", memory, 0, 0.04)
}

// One bad tooth returns once a turn of the escape wheel: every 2·15 beats
// (derived: one tooth passes in two beats), on each pallet.
func TestBadTooth(t *testing.T) {
	_, truth := render(t, Scene{Duration: 20, Watch: &Watch{ToothErrors: []unit.Milliseconds{0, 0, 0, 0.5}}})
	seen := map[int]int{}
	for _, b := range truth.Beats {
		nominal := float64(b.Number) * 0.125
		if float64(b.Middle)-nominal > 4e-4 {
			seen[b.Side]++
			if at := b.Number % 30; at != 6 && at != 11 {
				t.Errorf("beat %d is late", b.Number)
			}
		}
	}
	if seen[0] < 5 || seen[1] < 5 {
		t.Errorf("late beats by side: %v", seen)
	}
}

func TestChangesBreakStretches(t *testing.T) {
	w := &Watch{
		RateSteps: []RateStep{{At: 10, Rate: 60}},
		Turns:     []Turn{{At: 20, Handling: 2, Amplitude: 220, Settling: 5, Rate: -40, BeatError: 1, Phase: -30}},
		Stop:      40,
	}
	_, truth := render(t, Scene{Duration: 60, Watch: w})
	want := []struct {
		what string
		at   float64
	}{{StepRate, 10}, {Turned, 20}, {Handled, 22}, {Stopped, 40}}
	if len(truth.Changes) != len(want) || len(truth.Stretches) != 4 {
		t.Fatalf("%d changes, %d stretches", len(truth.Changes), len(truth.Stretches))
	}
	for i, c := range want {
		if truth.Changes[i].What != c.what {
			t.Errorf("change %d is %q, want %q", i, truth.Changes[i].What, c.what)
		}
		near(t, c.what, float64(truth.Changes[i].At), c.at, 1e-9)
	}
	// While the swing settles the same angle makes less beat error, which
	// leans the line a little.
	for i, c := range [][2]float64{{0, 1e-6}, {60, 1e-6}, {-40, 0.02}, {-40, 0.02}} {
		near(t, "rate of a stretch", float64(truth.Stretches[i].Sampled.Rate), c[0], c[1])
	}
	last := truth.Stretches[3]
	near(t, "end", float64(last.To), 40, 0.2)
	near(t, "swing after settling", float64(last.Sampled.Least), 220, 2)
	near(t, "beat error", float64(last.Sampled.BeatError), 1, 0.04)
}

// A fading watch is heard until its swing no longer reaches through the lift.
func TestFade(t *testing.T) {
	_, truth := render(t, Scene{Watch: &Watch{Stop: 5, Fade: 4}})
	last := truth.Beats[len(truth.Beats)-1]
	// 270·exp(−t/4) = 26 at t = 9.36 s after the stop.
	near(t, "last beat", float64(last.Middle), 5+4*math.Log(270.0/26), 0.2)
}

// The speed's power makes strikes weaker as the swing falls.
func TestSpeedPower(t *testing.T) {
	loud := func(power float64) float64 {
		w := &Watch{SpeedPower: power, Swing: Swing{Course: Points, Points: []SwingPoint{{0, 280}, {10, 140}}}}
		x, truth := render(t, Scene{Duration: 12, Watch: w})
		first, last := truth.Beats[0], truth.Beats[len(truth.Beats)-2]
		level := func(b Beat) float64 { at := float64(b.Drop) * 48000; return loudest(x, at, at+100) }
		return level(last) / level(first)
	}
	near(t, "without", loud(0), 1, 0.03)
	// speed ∝ sqrt(A² − 26²) at the drop
	near(t, "with", loud(1), math.Sqrt((140*140-26*26.0)/(280*280-26*26)), 0.03)
}

// A jump moves the beats once and for all.
func TestPhaseStep(t *testing.T) {
	w := &Watch{Turns: []Turn{{At: 5.06, Phase: -31.5}}}
	_, truth := render(t, Scene{Duration: 10, Watch: w})
	for _, b := range truth.Beats {
		want := float64(b.Number) * 0.125
		if want > 5.06 {
			want -= 0.0315
		}
		near(t, "middle", float64(b.Middle), want, 1e-9)
	}
	if len(truth.Changes) != 1 || truth.Changes[0].What != PhaseStep || truth.Changes[0].Ms != -31.5 {
		t.Errorf("changes: %+v", truth.Changes)
	}
}
