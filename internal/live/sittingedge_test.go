package live

import (
	"context"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"beatwright"
	"beatwright/conduct"
	"beatwright/internal/files"
	"beatwright/position"
	"beatwright/sound"
	"beatwright/unit"
)

func (s *shop) act(st *Sitting, a conduct.Act, p position.Position) {
	s.Helper()
	if err := st.Act(context.Background(), a, p, ""); err != nil {
		s.Errorf("%s: %v", a, err)
	}
}

// heardFor plays a watch for so long and gives its feed.
func (s *shop) heardFor(st *Sitting, seed uint64, t unit.Seconds) *Feed {
	s.Helper()
	f := play(s.T, st, sittingSound(s.T, seed, laid{5, 250, 0.5, t}), nil)
	if v := st.View(); v.Heard == nil || v.Heard.Watch == nil {
		s.Fatalf("nothing heard in %g s: %+v", float64(t), v.Doing)
	}
	return f
}

// To be heard again at once: what was kept is taken out though it was still
// being written, and only what is heard then stands in the record.
func TestHeardAgainAtOnce(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH", "12H").ID)
	s.heardFor(st, 11, 4)
	for range cap(s.bench.working) {
		s.bench.working <- struct{}{} // nothing can be read from the disk
	}
	s.act(st, conduct.Accept, position.None)
	s.act(st, conduct.Repeat, position.None)
	for range cap(s.bench.working) {
		<-s.bench.working
	}
	st.Settled()
	if p := s.papers(); len(p.Hearings) != 0 || len(p.Readings) != 0 {
		t.Errorf("%d hearings stand in the record", len(p.Hearings))
	}
	if v := st.View(); v.Doing.Stop || v.Doing.Turn != position.CH || v.Places[0].Hearing != "" {
		t.Errorf("then %+v, %+v", v.Doing, v.Places)
	}
}

// A disk that takes nothing: the position is asked for again, and the round is
// not over.
func TestNothingCanBeKept(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(nil, "CH")
	incoming := filepath.Join(s.dir, "incoming")
	away := incoming + " away"
	if err := os.Rename(incoming, away); err != nil {
		t.Fatal(err)
	}
	st := s.sitting(r.ID)
	s.heardFor(st, 12, 4)
	s.act(st, conduct.Accept, position.None)
	st.Settled()
	v := st.View()
	if v.Doing.Lead != "Not kept." || !v.Doing.Stop || v.Places[0].State == Done {
		t.Errorf("told %+v, %+v", v.Doing, v.Places)
	}
	if p := s.papers(); len(p.Hearings) != 0 || p.Rounds[0].Ended != nil {
		t.Errorf("kept %+v, ended %v", p.Hearings, p.Rounds[0].Ended)
	}
	// There is room again.
	if err := os.Rename(away, incoming); err != nil {
		t.Fatal(err)
	}
	lies := false
	play(t, st, sittingSound(t, 13, laid{5, 250, 0.5, 7}), func(at unit.Seconds) bool {
		if at > 3 && !lies {
			lies = true
			s.act(st, conduct.Accept, position.None)
		}
		return false
	})
	s.act(st, conduct.Stop, position.None)
	st.Settled()
	if p := s.papers(); len(p.Hearings) != 1 || p.Rounds[0].Ended == nil {
		t.Errorf("then kept %+v, ended %v; %+v", p.Hearings, p.Rounds[0].Ended, st.View().Doing)
	}
}

// Said to lie otherwise than was asked for, and then cut off by a kill, the sound
// is kept under the position that was said.
func TestLiesThenCutOff(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH", "12H").ID)
	said := false
	play(t, st, sittingSound(t, 15, laid{5, 250, 0.5, 9}), func(at unit.Seconds) bool {
		if v := st.View(); !said && v.Sound.Durable > 0 {
			said = true
			s.act(st, conduct.Lies, position.H12)
		}
		return false
	})
	// What is handed on is written beside; all of it is when the keeper ends.
	k := st.keeper
	if _, err := k.end(); err != nil || !said {
		t.Fatal(said, err)
	}
	s.record.Close()
	s.folder.Close()
	again := openShop(t, s.dir)
	t.Cleanup(again.close)
	again.job = s.job
	if n, err := again.bench.Salvage(context.Background()); err != nil || n != 1 {
		t.Fatalf("salvaged %d, %v", n, err)
	}
	if p := again.papers(); len(p.Hearings) != 1 || p.Hearings[0].Position != "12H" {
		t.Errorf("%+v", p.Hearings)
	}
}

// A position was taken as heard and the program stopped before that was in the
// record: it is put there whole, but not beside the same one heard again.
func TestTakenThenStopped(t *testing.T) {
	t.Parallel()
	for name, again := range map[string]bool{"once": false, "heard again": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newShop(t)
			r := s.newRound(nil, "CH")
			st := s.sitting(r.ID)
			s.heardFor(st, 22, 4)
			s.record.Close() // nothing can be written any more
			s.act(st, conduct.Accept, position.None)
			st.Settled()
			if v := st.View(); v.Doing.Lead != "Not kept." || v.Phase == conduct.Ended {
				t.Errorf("what was not written is said as %+v, and the round is %s", v.Doing, v.Phase)
			}
			s.folder.Close()
			s = openShop(t, s.dir)
			s.job, s.T = &beatwright.Job{Entry: beatwright.Entry{ID: r.Job}}, t
			t.Cleanup(s.close)
			want := ""
			if again {
				st := s.sitting(r.ID)
				s.heardFor(st, 24, 4)
				s.act(st, conduct.Accept, position.None)
				st.Settled()
				want = cutShort
			}
			if n, err := s.bench.Salvage(context.Background()); err != nil || n != 1 {
				t.Fatalf("salvaged %d, %v", n, err)
			}
			hs := s.papers().Hearings
			if h := hs[len(hs)-1]; h.Note != want || h.Position != "CH" || h.Seconds < 3 || h.RateHz != float64(benchRate) {
				t.Errorf("%+v", h)
			}
		})
	}
}

// Where what was heard cannot be kept the round is not over, in the record neither.
func TestNotOverBeforeItIsKept(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	st := s.sitting(s.newRound(nil, "CH").ID)
	s.heardFor(st, 22, 4)
	place := filepath.Join(s.dir, "sound")
	if err := os.Rename(place, place+" away"); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(place, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	s.act(st, conduct.Accept, position.None)
	st.Settled()
	if p := s.papers(); len(p.Hearings) != 0 || p.Rounds[0].Ended != nil {
		t.Errorf("kept %+v, ended %v", p.Hearings, p.Rounds[0].Ended)
	}
	if v := st.View(); v.Doing.Lead != "Not kept." || v.Phase == conduct.Ended {
		t.Errorf("said is %+v, and the round is %s", v.Doing, v.Phase)
	}
}

// Sound that was said to be taken is whole if all of it is there.
func TestTakenNotNamed(t *testing.T) {
	t.Parallel()
	for missing, note := range map[int64]string{0: "too warm", 1: cutShort} {
		s := newShop(t)
		r := s.newRound(nil, "CH")
		x := sittingSound(t, 23, laid{5, 250, 0.5, 4})
		g, err := s.folder.Incoming("06h2w1mv5ptv7md7v20n63h5")
		if err != nil {
			t.Fatal(err)
		}
		w, err := sound.NewFLACWriter(g, sound.Format{Rate: benchRate, Channels: 1, Bits: 24})
		if err != nil {
			t.Fatal(err)
		}
		of, err := json.Marshal(keptOf{Job: s.job.ID, Round: r.ID, Position: "CH", At: s.bench.Now(), Taken: true, Note: "too warm"})
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(w.Write(x), w.Close(), g.Mark(files.Mark{Kind: sittingMark, Text: string(of), Sample: int64(len(x)) + missing}), g.Close()); err != nil {
			t.Fatal(err)
		}
		if n, err := s.bench.Salvage(context.Background()); err != nil || n != 1 {
			t.Fatalf("salvaged %d, %v", n, err)
		}
		if p := s.papers(); len(p.Hearings) != 1 || p.Hearings[0].Note != note {
			t.Errorf("%d samples missing: %+v", missing, p.Hearings)
		}
	}
}

// All was heard, and the program was stopped before the round's end was written:
// it is over when it is looked at again, in the record too.
func TestEndWrittenLater(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.newRound(nil, "CH")
	st := s.sitting(r.ID)
	s.heardFor(st, 16, 4)
	s.act(st, conduct.Accept, position.None)
	st.Settled()
	p := s.papers()
	if len(p.Hearings) != 1 || p.Rounds[0].Ended == nil {
		t.Fatalf("%+v, %+v", p.Hearings, p.Rounds[0])
	}
	open := *p.Rounds[0]
	open.Ended = nil
	s.put(&open)
	again := NewBench(s.record, s.folder, "test")
	defer again.Close()
	st, err := again.Sitting(context.Background(), r.ID)
	if err != nil {
		t.Fatal(err)
	}
	st.Settled()
	if v := st.View(); v.Phase != conduct.Ended || v.Doing.Lead != "That is all." || len(v.Doing.Acts) != 0 {
		t.Errorf("%s, %+v", v.Phase, v.Doing)
	}
	if p := s.papers(); p.Rounds[0].Ended == nil {
		t.Error("the end is not in the record")
	}
}

func TestActsRefusedInWords(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	round, adjust := s.sitting(s.newRound(nil, "CH").ID), s.sitting(s.newRound(&beatwright.Adjusting{Target: "rate"}).ID)
	for _, tt := range []struct {
		st   *Sitting
		act  conduct.Act
		says string
	}{
		{round, conduct.Repeat, "that cannot be done now; see what the line asks for"},
		{round, "dance", `that cannot be done now: "dance" is no act`},
		{round, conduct.Lies, "that cannot be done now: the position is not known"},
		{adjust, conduct.Accept, "that cannot be done now; see"},
		{adjust, conduct.Lies, "that cannot be done now; see"},
		{s.sitting(Pickup), conduct.Accept, "that cannot be done now; see"},
	} {
		err := tt.st.Act(context.Background(), tt.act, position.None, "")
		if err == nil || beatwright.CodeOf(err) != beatwright.Wrong || !strings.HasPrefix(err.Error(), tt.says) {
			t.Errorf("%s: %v, want %q", tt.act, err, tt.says)
		}
	}
}
