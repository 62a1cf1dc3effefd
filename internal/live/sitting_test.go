package live

import (
	"context"
	"math"
	"strings"
	"testing"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/files"
	"beatwright/internal/sqlite"
	"beatwright/position"
	"beatwright/synth"
	"beatwright/unit"
)

const benchRate unit.Hertz = 44100

// laid is one position of a simulated sitting.
type laid struct {
	rate  unit.SecondsPerDay
	swing unit.Degrees
	beat  unit.Milliseconds
	lies  unit.Seconds
}

// sittingSound renders a watch that is turned from one position to the next,
// with two seconds of hands between.
func sittingSound(t *testing.T, seed uint64, ps ...laid) []float32 {
	t.Helper()
	w := &synth.Watch{
		BeatsPerHour: 21600, Lift: 52, Rate: ps[0].rate, BeatError: ps[0].beat, Swing: synth.Swing{Start: ps[0].swing},
		Jitter: synth.Jitter{Centre: 0.03, Unlocking: 0.015, Impulse: 0.015, Drop: 0.015}, FirstAt: 0.2,
	}
	at := ps[0].lies
	for i, p := range ps[1:] {
		w.Turns = append(w.Turns, synth.Turn{
			At: at, Handling: 2, Amplitude: p.swing, Settling: 1, Rate: p.rate, BeatError: p.beat,
			Phase: unit.Milliseconds(23 + 31*float64(i%3)),
		})
		at += 2 + p.lies
	}
	x, _, err := synth.Render(synth.Scene{Seed: seed, Rate: benchRate, Level: -14, Bits: 16, Watch: w, Noise: []synth.Noise{{SNR: 38}}, Duration: at})
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// shop is a workshop with one job in it.
type shop struct {
	*testing.T
	dir    string
	bench  *Bench
	folder *files.Folder
	record *sqlite.Store
	job    *beatwright.Job
}

func openShop(t *testing.T, dir string) *shop {
	t.Helper()
	ctx := context.Background()
	folder, err := files.Open(dir, files.Options{})
	if err != nil {
		t.Fatal(err)
	}
	record, err := sqlite.Open(ctx, dir, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s := &shop{T: t, dir: dir, bench: NewBench(record, folder, "test"), folder: folder, record: record}
	return s
}

func (s *shop) close() {
	s.bench.Close()
	s.record.Close()
	s.folder.Close()
}

// newShop opens a new workshop with a watch in a job.
func newShop(t *testing.T) *shop {
	t.Helper()
	s := openShop(t, t.TempDir())
	t.Cleanup(func() { s.close() })
	now := s.bench.Now()
	watch := &beatwright.Watch{Entry: s.bench.newEntry(), Called: "Invented"}
	s.job = &beatwright.Job{Entry: s.bench.newEntry(), Watch: watch.ID, State: beatwright.Received, Opened: now}
	s.put(watch, s.job)
	return s
}

func (s *shop) put(ts ...beatwright.Thing) {
	s.Helper()
	if _, err := s.bench.Apply(context.Background(), beatwright.Change{What: "test", Job: s.job.ID, Put: ts}); err != nil {
		s.Fatal(err)
	}
}

func (s *shop) newRound(adjust *beatwright.Adjusting, plan ...string) *beatwright.Round {
	s.Helper()
	hours := 0.0
	r := &beatwright.Round{
		Entry: s.bench.newEntry(), Job: s.job.ID, Stage: beatwright.AsFound, Plan: plan, Quick: true, Adjust: adjust,
		State: beatwright.State{Hours: &hours}, At: s.bench.Now(),
	}
	s.put(r)
	return r
}

func (s *shop) sitting(id beatwright.ID) *Sitting {
	s.Helper()
	st, err := s.bench.Sitting(context.Background(), id)
	if err != nil {
		s.Fatal(err)
	}
	return st
}

func (s *shop) papers() *beatwright.Papers {
	s.Helper()
	p, err := s.bench.Job(context.Background(), string(s.job.ID))
	if err != nil {
		s.Fatal(err)
	}
	return p
}

// play sends sound as a page does, each reading awaited, so that the test does
// not depend on how fast the machine is; each is asked after every block.
func play(t *testing.T, st *Sitting, x []float32, each func(at unit.Seconds) (stop bool)) *Feed {
	t.Helper()
	f, err := st.Attach(Device{Name: "test", RateHz: benchRate, Path: "processor"})
	if err != nil {
		t.Fatal(err)
	}
	const block = 4410
	for i := 0; i < len(x); i += block {
		if err := f.Push(int64(i), x[i:min(i+block, len(x))]); err != nil {
			t.Fatal(err)
		}
		st.reads.Wait()
		if each != nil && each(unit.Seconds(float64(i)/float64(benchRate))) {
			break
		}
	}
	return f
}

var three = []laid{{12, 270, 0.5, 16}, {-6, 240, 0.6, 16}, {3, 244, 0.4, 16}}

// A round is heard by sound alone; each position stands in the record with the
// reading that its kept file gives, under what was stated of the round.
func TestSittingRound(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(nil, "CH", "12H", "3H")
	st := s.sitting(r.ID)
	if v := st.View(); v.Phase != conduct.Silent || v.Doing.Lead != "No sound yet." || len(v.Places) != 3 {
		t.Errorf("before: %+v", v)
	}
	play(t, st, sittingSound(t, 1, append(three, three[0])...), nil)
	st.Settled()
	v := st.View()
	if v.Phase != conduct.Ended || len(v.Places) != 4 || !v.Places[3].Repeat {
		t.Fatalf("phase %s, %+v, %+v", v.Phase, v.Doing, v.Places)
	}
	p := s.papers()
	if len(p.Hearings) != 4 || p.Rounds[0].Ended == nil {
		t.Fatalf("%d hearings kept, ended %v", len(p.Hearings), p.Rounds[0].Ended)
	}
	for i, h := range p.Hearings {
		want := append(append([]laid{}, three...), three[0])[i]
		if h.Position != []string{"CH", "12H", "3H", "CH"}[i] || h.Repeat != (i == 3) || h.Round != r.ID || h.State.Hours == nil || *h.State.Hours < 0 {
			t.Errorf("hearing %d: %+v", i, h)
		}
		l := p.Latest(h.ID)
		if l == nil || l.Says.Watch == nil || math.Abs(l.Says.Watch.Rate.Value-float64(want.rate)) > 0.5 {
			t.Errorf("%s reads %+v, the watch did %g s/d", h.Position, l, want.rate)
			continue
		}
		// Measured again from the file it says the same.
		again, err := s.bench.Again(context.Background(), h.ID, nil, "")
		if err != nil || again.Says.Watch.Rate.Value != l.Says.Watch.Rate.Value {
			t.Errorf("%s measured again: %v", h.Position, err)
		}
	}
	if left, err := s.folder.Salvage(); err != nil || len(left) > 0 {
		t.Errorf("left in incoming: %+v, %v", left, err)
	}
}

// The first reading is there within three seconds of the first clean beat, and
// what is shown live of a stretch is what its sound says.
func TestFirstReadingAndLevels(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH", "12H").ID)
	first := unit.Seconds(0)
	beats := 0
	play(t, st, sittingSound(t, 2, laid{5, 250, 0.5, 6}), func(at unit.Seconds) bool {
		if v := st.View(); first == 0 && v.Heard != nil && v.Heard.Watch != nil {
			first = at + 0.1
		}
		beats = max(beats, len(st.Level().Beats))
		return false
	})
	t.Logf("the first reading came %.1f s after the first beat", first-0.2)
	// The first beat sounds at 0.2 s.
	if first == 0 || first > 3.2 {
		t.Errorf("the first reading came at %.1f s", first)
	}
	if beats < 5 || beats > 7 {
		t.Errorf("%d beats in a second at six a second", beats)
	}
}

// The power goes in the middle: what was accepted is there, what was being heard
// is kept as far as it was written, and the round goes on where it was.
func TestSittingCutOff(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(nil, "CH", "12H", "3H")
	st := s.sitting(r.ID)
	x := sittingSound(t, 3, three...)
	var durable unit.Seconds
	f := play(t, st, x, func(at unit.Seconds) bool {
		durable = st.View().Sound.Durable
		return at > 27
	})
	st.Settled()
	if durable < 5 || f.Durable() == 0 {
		t.Fatalf("%.1f s durable in the second position", durable)
	}
	// No Close of the bench: as after a kill.
	s.record.Close()
	s.folder.Close()
	again := openShop(t, s.dir)
	t.Cleanup(again.close)
	again.job = s.job
	n, err := again.bench.Salvage(context.Background())
	if err != nil || n != 1 {
		t.Fatalf("salvaged %d, %v", n, err)
	}
	p := again.papers()
	if len(p.Hearings) != 2 || p.Hearings[0].Position != "CH" || p.Hearings[1].Position != "12H" || p.Hearings[1].Note != cutShort {
		t.Fatalf("%+v", p.Hearings)
	}
	if got := p.Hearings[1].Seconds; got < float64(durable)-0.2 {
		t.Errorf("%.2f s of the second are kept, %.2f were durable", got, durable)
	}
	if n, err := again.bench.Salvage(context.Background()); n != 0 || err != nil {
		t.Errorf("salvaged again: %d, %v", n, err)
	}
	v := again.sitting(r.ID).View()
	if v.Places[0].State != Done || v.Places[1].State == Done {
		t.Errorf("gone on with %+v", v.Places)
	}
	// It lies as it lay when the sound comes again: no turn is taken for granted.
	st = again.sitting(r.ID)
	play(t, st, sittingSound(t, 4, three[1], three[2]), func(at unit.Seconds) bool {
		if at > 5 && at < 5.15 {
			if v := st.View(); v.Phase != conduct.Turn || v.Doing.Turn != position.H12 {
				t.Errorf("after the interruption: %s, %+v", v.Phase, v.Doing)
			}
			if err := st.Act(context.Background(), conduct.Accept, position.None, ""); err != nil {
				t.Error(err)
			}
		}
		return false
	})
	st.Settled()
	p = again.papers()
	if len(p.Hearings) != 4 || p.Hearings[2].Position != "12H" || p.Hearings[2].Note == cutShort || p.Hearings[3].Position != "3H" {
		t.Errorf("%d hearings, the last %+v", len(p.Hearings), p.Hearings[len(p.Hearings)-1])
	}
}

// A microphone that goes away is said, with what is kept; plugged in again the
// position is heard from anew.
func TestUnplugged(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH", "12H").ID)
	x := sittingSound(t, 5, laid{5, 250, 0.5, 30})
	f := play(t, st, x[:8*int(benchRate)], nil)
	f.Close("unplugged")
	v := st.View()
	if v.Phase != conduct.Silent || !v.Doing.Stop || !v.Stale || v.Heard == nil {
		t.Errorf("unplugged: %+v", v)
	}
	if err := f.Push(0, x[:100]); err != ErrElsewhere {
		t.Errorf("a closed feed took sound: %v", err)
	}
	play(t, st, x[10*int(benchRate):], nil)
	st.Settled()
	p := s.papers()
	if len(p.Hearings) != 2 || p.Hearings[0].Note != cutShort || p.Hearings[1].Note == cutShort {
		t.Errorf("kept %+v", p.Hearings)
	}
}

// A second page takes over; the first is told.
func TestNewestWins(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH").ID)
	old := play(t, st, make([]float32, 44100), nil)
	play(t, st, make([]float32, 44100), nil)
	if err := old.Push(44100, make([]float32, 100)); err != ErrElsewhere {
		t.Errorf("the old page still sends: %v", err)
	}
	if _, err := st.Attach(Device{RateHz: 8000}); err == nil {
		t.Error("8 000 samples a second were taken")
	}
}

// Samples that come twice are passed over; missing ones are told.
func TestFeedIndex(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(Pickup)
	f, err := st.Attach(Device{RateHz: benchRate})
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float32, 44100)
	for _, from := range []int64{500, 500, 22050, 88700} {
		if err := f.Push(from, x); err != nil {
			t.Fatal(err)
		}
	}
	st.reads.Wait()
	v := st.View()
	// 500…44 600, then to 66 150, then a gap of 22 550 samples.
	if want := 22550 / 44100.0; math.Abs(float64(v.Sound.Lost)-want) > 1e-9 {
		t.Errorf("lost %g s, want %g", v.Sound.Lost, want)
	}
}

// A session of adjusting is kept as it was before and as it was left.
func TestSittingAdjusting(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(&beatwright.Adjusting{Target: "beat error"})
	st := s.sitting(r.ID)
	play(t, st, sittingSound(t, 6, laid{5, 250, 3, 13}, laid{5, 250, 1.6, 13}, laid{5, 250, 0.1, 13}), nil)
	v := st.View()
	if v.Adjust == nil || len(v.Adjust.Touches) != 2 {
		t.Fatalf("%+v", v.Adjust)
	}
	if err := st.Act(context.Background(), conduct.Stop, position.None, ""); err != nil {
		t.Fatal(err)
	}
	st.Settled()
	p := s.papers()
	if len(p.Hearings) != 2 || p.Rounds[0].Ended == nil {
		t.Fatalf("%d hearings, ended %v", len(p.Hearings), p.Rounds[0].Ended)
	}
	for i, want := range []float64{3, 0.1} {
		if l := p.Latest(p.Hearings[i].ID); l.Says.Watch == nil || math.Abs(l.Says.Watch.BeatError.Value-want) > 0.1 {
			t.Errorf("hearing %d: %+v, want a beat error of %g ms", i, l.Says.Watch, want)
		}
	}
}

func TestPickupVerdict(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(Pickup)
	play(t, st, sittingSound(t, 7, laid{5, 250, 0.5, 8}), nil)
	if v := st.View(); v.Pickup == nil || !v.Pickup.Good {
		t.Errorf("%+v", v.Pickup)
	}
	if err := st.Act(context.Background(), conduct.Accept, position.None, ""); err == nil {
		t.Error("a trial has nothing to accept")
	}
	if p := s.papers(); len(p.Hearings) != 0 {
		t.Error("a trial was kept")
	}
}

// Poise: four upright positions at 155° of a balance that is heavy towards one
// side mark that side; the caution stands with it.
func TestSittingPoise(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(&beatwright.Adjusting{Target: "poise"}, "12H", "3H", "6H", "9H")
	st := s.sitting(r.ID)
	// Below the reversal a watch gains with the heavy point down: one heavy
	// towards 9, which hangs down with 3 up, gains most there.
	play(t, st, sittingSound(t, 8, laid{0, 155, 0.5, 16}, laid{30, 155, 0.5, 16}, laid{0, 155, 0.5, 16}, laid{-30, 155, 0.5, 16}), nil)
	st.Settled()
	v := st.View()
	if v.Adjust == nil || v.Adjust.Poise == nil {
		t.Fatalf("%+v, %+v", v.Adjust, v.Doing)
	}
	if h := v.Adjust.Poise.HeavyPoint.Value; math.Abs(math.Remainder(h-270, 360)) > 5 {
		t.Errorf("heavy at %.0f°, want 270°, towards 9", h)
	}
	if !strings.Contains(v.Adjust.Says, "9 o’clock") || !strings.Contains(v.Adjust.Says, "once removed is gone") {
		t.Errorf("says %q", v.Adjust.Says)
	}
}
