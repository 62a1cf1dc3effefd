package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"beatwright/internal/cli"
	"beatwright/reading"
	"beatwright/sound"
	"beatwright/unit"
)

const wantBlock = `a.wav
18 000 beats an hour; 148 beats in 29.6 s, from 0.4 s to 30.0 s; 2 left out.

Gaining 38 s a day.               ± 4 s/d with the clock's doubt; the sound
                                  alone says +37.50 ± 0.06 s/d

Out of beat by 1.24 ms.           ± 0.03 ms; half the difference of alternate
                                  beats, taken between drops

Swinging at most 124°.            no unlocking was heard above the noise

Limited by                        The sound card's clock, never checked:
                                  ± 47.5 ppm is ± 4 s/d. It is the same in every
                                  reading of this device: compare those by the
                                  sound alone, ± 0.06 s/d.
What happened                     at 12.2 s the beats stepped by −57.0 ms.
Heard in the drift                waves of ± 0.15 ms every 6.00 s, as the escape
                                  wheel would give.
Take care                         less than two turns of the fourth wheel were
                                  heard.
`

func TestBlock(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	r := run(t, engine{"a.wav": {heard()}}, "", "measure", "a.wav")
	if r.status != 0 || r.err != "" {
		t.Errorf("exit status %d, complained %q", r.status, r.err)
	}
	if got := plain(r.out); got != wantBlock {
		t.Errorf("printed\n%s\nwant\n%s", got, wantBlock)
	}
	if r.soundFrames != 4800 {
		t.Errorf("the engine was given %d frames, want 4800", r.soundFrames)
	}
}

func TestRefusalIsExit3(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	r := run(t, engine{"a.wav": {refused()}}, "", "measure", "a.wav")
	if want := "a.wav\n\nNo watch is heard.                noise without a beat in it\n"; r.status != 3 || r.out != want || r.err != "" {
		t.Errorf("status %d, printed %q, complained %q; want 3 and %q", r.status, r.out, r.err, want)
	}
}

// TestSeveralFiles: all are tried, the highest status wins, one row a file.
func TestSeveralFiles(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	wav(t, ".", "longer-name.wav")
	r := run(t, engine{"a.wav": {heard()}, "longer-name.wav": {refused()}}, "", "measure", "missing.wav", "a.wav", "longer-name.wav")
	if r.status != 4 {
		t.Errorf("exit status %d, want 4", r.status)
	}
	oneLine(t, r.err, "missing.wav")
	want := []string{
		"file             beats/h   rate, s/d   by sound alone  out of beat, ms  amplitude, °       heard",
		"missing.wav      cannot be read",
		"a.wav             18 000     +38 ± 4    +37.50 ± 0.06      1.24 ± 0.03   124 at most      29.6 s",
		"longer-name.wav  no watch is heard: noise without a beat in it",
		"",
		"All rates heard by one device share its clock's doubt, ± 4 s/d; compare rows by the sound alone.",
		"All amplitudes take the lift angle as 52°, assumed ± 4°: that is ± 8 % of each.",
		"a.wav: at 12.2 s the beats stepped by −57.0 ms.",
		"a.wav: less than two turns of the fourth wheel were heard.",
		"",
	}
	got := strings.Split(plain(r.out), "\n")
	for i := range max(len(got), len(want)) {
		if i >= len(got) || i >= len(want) || got[i] != want[i] {
			t.Fatalf("line %d differs; printed\n%s\nwant\n%s", i+1, plain(r.out), strings.Join(want, "\n"))
		}
	}
}

func TestEveryIsARowAStretch(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	r := run(t, engine{"a.wav": {heard(), refused(), heard()}}, "", "measure", "--every", "30s", "a.wav")
	if r.status != 0 || len(r.asked) != 1 || r.asked[0].Every != 30 {
		t.Errorf("exit status %d, asked %+v; want 0 and stretches of 30 s", r.status, r.asked)
	}
	for _, want := range []string{
		"a.wav\nstretch ", "\n0.0 s – 30.0 s       18 000     +38 ± 4", "\n30.0 s – 1:00.0     no watch is heard: noise",
		"\n1:00.0 – 1:30.0      18 000", "\n0.0 s – 30.0 s, 1:00.0 – 1:30.0: less than two turns",
	} {
		if !strings.Contains(plain(r.out), want) {
			t.Errorf("printed\n%s\nwant %q in it", plain(r.out), want)
		}
	}
}

func TestEveryLongerThanTheSound(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	r := run(t, engine{}, "", "measure", "--json", "--every", "30s", "a.wav")
	if r.status != 3 || r.out != "" {
		t.Errorf("exit status %d, printed %q; want 3 and nothing", r.status, r.out)
	}
	oneLine(t, r.err, "shorter than one stretch")
}

// TestJSON: one object a line, also for what could not be read, whose one
// line stands on standard error too.
func TestJSON(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	wav(t, ".", "<b>&.wav")
	r := run(t, engine{"a.wav": {heard()}, "<b>&.wav": {refused()}}, "", "measure", "--json", "a.wav", "<b>&.wav", "missing.wav")
	if r.status != 4 {
		t.Errorf("exit status %d, want 4", r.status)
	}
	oneLine(t, r.err, "missing.wav")
	lines := strings.Split(strings.TrimSuffix(r.out, "\n"), "\n")
	if len(lines) != 3 {
		t.Fatalf("printed %d lines, want 3: %q", len(lines), r.out)
	}
	for i, want := range []string{
		`{"file":"a.wav","heard":true,"from_s":0.4,"to_s":30,"beats_per_hour":18000,"beats":148,"beats_rejected":2,"beat_ms":{"value":199.9132,`,
		`{"file":"\u003cb\u003e\u0026.wav","heard":false,"code":"noise","why":"noise without a beat in it"}`,
		`{"file":"missing.wav","error":"`,
	} {
		if !strings.HasPrefix(lines[i], want) {
			t.Errorf("line %d is %s, want it to begin with %s", i+1, lines[i], want)
		}
		if !json.Valid([]byte(lines[i])) {
			t.Errorf("line %d is not JSON: %s", i+1, lines[i])
		}
	}
	if !strings.HasSuffix(lines[2], `,"code":"unreadable"}`) {
		t.Errorf("line 3 is %s, want code unreadable", lines[2])
	}
}

// TestUnreadableWithoutJSON: one file, nothing on standard output.
func TestUnreadableWithoutJSON(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.WriteFile("empty.wav", nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("letter.wav", []byte("Dear watchmaker,\nmy watch has stopped.\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range []string{
		"missing.wav", ".", "empty.wav", "letter.wav",
		"--raw s16le --rate 48000 --channels 1 missing.raw", "--raw s16le --rate 48000 --channels 1 .",
		"--movement missing.json empty.wav", "--movement letter.wav empty.wav", "--movement . empty.wav",
	} {
		r := run(t, nil, "", append([]string{"measure"}, strings.Fields(args)...)...)
		if r.status != 4 || r.out != "" {
			t.Errorf("measure %s: status %d, printed %q; want 4 and nothing", args, r.status, r.out)
		}
		oneLine(t, r.err, "")
	}
}

func TestStandardInput(t *testing.T) {
	r := run(t, engine{"-": {heard()}}, strings.Repeat("\x00", 9600), "measure", "--json", "--raw", "s16le", "--rate", "48000", "--channels", "2", "-")
	if r.status != 0 || r.soundFrames != 2400 || !strings.HasPrefix(r.out, `{"file":"-",`) {
		t.Errorf("status %d, %d frames, printed %q; want 0, 2400 and file -", r.status, r.soundFrames, r.out)
	}
	path := wav(t, t.TempDir(), "a.wav")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r = run(t, engine{"-": {heard()}}, string(data), "measure", "-")
	if r.status != 0 || r.soundFrames != 4800 || !strings.HasPrefix(r.out, "standard input\n") {
		t.Errorf("status %d, %d frames, printed %q; want 0, 4800 and standard input", r.status, r.soundFrames, r.out)
	}
}

// TestLift: the flag goes before the file, and a doubt is always stated.
func TestLift(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("published.json", `{"lift_deg":48,"lift_u95_deg":2,"lift_standing":"published","beats_per_hour":21600}`)
	write("bare.json", `{"lift_deg":48}`)
	write("assumed.json", `{"lift_deg":50,"lift_standing":"assumed"}`)
	write("none.json", `{}`)
	tests := []struct {
		args     string
		lift     unit.Degrees // 0: left to the engine
		u95      unit.Degrees
		standing reading.Standing
		beats    unit.BeatsPerHour // 0: left to the engine
	}{
		{"", 0, 0, "", 0},
		{"--lift 44", 44, 1, reading.Given, 0},
		{"--movement published.json", 48, 2, reading.Published, 21600},
		{"--movement published.json --lift 44 --beats-per-hour 18000", 44, 1, reading.Given, 18000},
		{"--movement bare.json", 48, 1, reading.Given, 0},
		{"--movement assumed.json", 50, 4, reading.Assumed, 0},
		{"--movement none.json", 0, 0, "", 0},
	}
	for _, tt := range tests {
		t.Run(tt.args, func(t *testing.T) {
			args := append([]string{"measure"}, strings.Fields(tt.args)...)
			r := run(t, engine{"a.wav": {heard()}}, "", append(args, "a.wav")...)
			if r.status != 0 || len(r.asked) != 1 {
				t.Fatalf("exit status %d, complained %q", r.status, r.err)
			}
			o := r.asked[0]
			lift, beats := unit.Degrees(0), unit.BeatsPerHour(0)
			if o.Lift != nil {
				lift = *o.Lift
			}
			if o.BeatsPerHour != nil {
				beats = *o.BeatsPerHour
			}
			if lift != tt.lift || o.LiftU95 != tt.u95 || o.LiftStanding != tt.standing || beats != tt.beats {
				t.Errorf("lift %v ± %v %q, beats %v; want %+v", lift, o.LiftU95, o.LiftStanding, beats, tt)
			}
		})
	}
}

func TestMovementWarningsAreTold(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	if err := os.WriteFile("m.json", []byte(`{"jewels":17}`), 0o644); err != nil {
		t.Fatal(err)
	}
	r := run(t, engine{"a.wav": {heard()}}, "", "measure", "--movement", "m.json", "a.wav")
	if r.status != 0 {
		t.Errorf("exit status %d, want 0", r.status)
	}
	oneLine(t, r.err, `m.json: field "jewels" is not known`)
}

func TestBeatsFile(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	const want = "file,at_s,side,residual_ms,rejected,reason\n" +
		"a.wav,0.400000,1,0.0123,false,\n" +
		"a.wav,0.600000,2,-0.0200,true,\"bump, louder than a beat\"\n"
	r := run(t, engine{"a.wav": {heard()}}, "", "measure", "--beats", "beats.csv", "a.wav")
	got, err := os.ReadFile("beats.csv")
	if r.status != 0 || err != nil || string(got) != want {
		t.Errorf("status %d, %v, wrote\n%s\nwant\n%s", r.status, err, got, want)
	}
	only(t, "a.wav", "beats.csv")
}

// TestNoHalfBeatsFile: a run without a reading leaves no file, and what stood
// there stays.
func TestNoHalfBeatsFile(t *testing.T) {
	t.Chdir(t.TempDir())
	wav(t, ".", "a.wav")
	if err := os.WriteFile("old.csv", []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, out := range []string{"new.csv", "old.csv"} {
		if r := run(t, engine{"a.wav": {refused()}}, "", "measure", "--beats", out, "a.wav"); r.status != 3 {
			t.Errorf("exit status %d, want 3", r.status)
		}
		if r := run(t, nil, "", "measure", "--beats", out, "missing.wav"); r.status != 4 {
			t.Errorf("exit status %d, want 4", r.status)
		}
	}
	only(t, "a.wav", "old.csv")
	if got, _ := os.ReadFile("old.csv"); string(got) != "old" {
		t.Errorf("the old file now holds %q", got)
	}
	r := run(t, engine{"a.wav": {heard()}}, "", "measure", "--beats", "nowhere/beats.csv", "a.wav")
	if r.status != 1 || len(r.names) > 0 {
		t.Errorf("exit status %d after hearing %v, want 1 before anything is heard", r.status, r.names)
	}
	oneLine(t, r.err, "nowhere/beats.csv")
}

// only checks which files the folder holds.
func only(t *testing.T, want ...string) {
	t.Helper()
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, " ") != strings.Join(want, " ") {
		t.Errorf("the folder holds %v, want %v", got, want)
	}
}

// fullDisk takes nothing.
type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestFullDiskIsAFailure(t *testing.T) {
	path := wav(t, t.TempDir(), "a.wav")
	for _, args := range [][]string{{"measure", path}, {"measure", "--json", path}, {"measure", path, path}, {"version"}, {"--help"}} {
		var r ran
		p := cli.New()
		p.Hear = engine{"a.wav": {heard()}}.hear(&r)
		var errs bytes.Buffer
		if st := p.Run(t.Context(), args, nil, fullDisk{}, &errs); st != 1 {
			t.Errorf("%v: exit status %d, want 1", args, st)
		}
		oneLine(t, errs.String(), "no space left")
	}
}

// TestInterrupted: when the run is stopped while it waits for a pipe, it ends
// at once, in one line, and leaves no file.
func TestInterrupted(t *testing.T) {
	t.Chdir(t.TempDir())
	ctx, cancel := context.WithCancel(t.Context())
	pipe, feed := io.Pipe()
	defer feed.Close()
	p := cli.New()
	p.Hear = func(ctx context.Context, _ string, s sound.Reader, _ cli.Options, _ func(cli.Result) error) error {
		cancel()
		_, err := s.Read(make([]float32, 512))
		return err
	}
	var out, errs bytes.Buffer
	st := p.Run(ctx, strings.Fields("measure --beats b.csv --raw s16le --rate 48000 --channels 1 -"), pipe, &out, &errs)
	if st != 1 || out.Len() > 0 {
		t.Errorf("exit status %d, printed %q; want 1 and nothing", st, out.String())
	}
	oneLine(t, errs.String(), "stopped before the end; no file was written")
	only(t)
}

func TestProgress(t *testing.T) {
	path := wav(t, t.TempDir(), "a.wav")
	hear := func(_ context.Context, _ string, _ sound.Reader, o cli.Options, emit func(cli.Result) error) error {
		for i := range 4 {
			if o.Progress != nil {
				o.Progress(unit.Seconds(60*i), 240)
			}
		}
		return emit(heard())
	}
	tests := []struct {
		name     string
		terminal bool
		step     time.Duration // how long between two looks at the clock
		want     string
	}{
		{"not a terminal", false, time.Second, ""},
		{"over in a second", true, time.Millisecond, ""},
		{"long", true, 500 * time.Millisecond, "\rhearing a.wav: 1 min of 4 min\x1b[K\rhearing a.wav: 2 min of 4 min\x1b[K\rhearing a.wav: 3 min of 4 min\x1b[K\r\x1b[K"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := &cli.Program{Hear: hear, Now: ticking(tt.step), IsTerminal: func(io.Writer) bool { return tt.terminal }}
			var out, errs bytes.Buffer
			if st := p.Run(t.Context(), []string{"measure", path}, nil, &out, &errs); st != 0 {
				t.Errorf("exit status %d, want 0", st)
			}
			if got := strings.ReplaceAll(plain(errs.String()), path, "a.wav"); got != tt.want {
				t.Errorf("progress is %q, want %q", got, tt.want)
			}
			if bold := strings.Contains(out.String(), "\x1b["); bold != tt.terminal {
				t.Errorf("bold is %v, want it on a terminal only", bold)
			}
		})
	}
}

// TestNamesCannotWriteOnTheTerminal: a file's name may hold anything.
func TestNamesCannotWriteOnTheTerminal(t *testing.T) {
	t.Chdir(t.TempDir())
	name := "a\x1b[2Jb\n.wav"
	wav(t, ".", name)
	for _, args := range [][]string{{"measure", name}, {"measure", name, name}, {"measure", "missing" + name}} {
		r := run(t, engine{name: {heard()}}, "", args...)
		if strings.Contains(r.out+r.err, "\x1b") || strings.Contains(r.out, "b\n") {
			t.Errorf("%q: the name came through: %q %q", args, r.out, r.err)
		}
	}
}

func TestVersion(t *testing.T) {
	r := run(t, nil, "", "version")
	if r.status != 0 || !strings.HasPrefix(r.out, "beatwright ") || !strings.Contains(r.out, "go1.") {
		t.Errorf("status %d, printed %q", r.status, r.out)
	}
	r = run(t, nil, "", "version", "--json")
	if r.status != 0 || !json.Valid([]byte(r.out)) {
		t.Errorf("status %d, printed %q, want JSON", r.status, r.out)
	}
}
