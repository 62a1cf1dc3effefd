package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestWrongUse: nonsense in the arguments is exit 2, one line, and nothing
// else happens. The status is DESIGN's contract, restated in README.md.
func TestWrongUse(t *testing.T) {
	tests := []struct{ args, want string }{
		{"measure", "FILE"},
		{"weigh a.wav", "weigh"},
		{"measure --lifted a.wav", "--lifted"},
		{"measure --lift 0 a.wav", "--lift: lift angle is 0; want 10 to 90 degrees"},
		{"measure --lift 400 a.wav", "want 10 to 90"},
		{"measure --lift -52 a.wav", "want 10 to 90"},
		{"measure --lift=NaN a.wav", "want 10 to 90"},
		{"measure --lift=Inf a.wav", "want 10 to 90"},
		{"measure --lift wide a.wav", "--lift"},
		{"measure --beats-per-hour 0 a.wav", "--beats-per-hour"},
		{"measure --beats-per-hour -18000 a.wav", "--beats-per-hour"},
		{"measure --beats-per-hour NaN a.wav", "--beats-per-hour"},
		{"measure --beats-per-hour 1e9 a.wav", "--beats-per-hour"},
		{"measure --every 0s a.wav", "want 1s to 24h"},
		{"measure --every -5s a.wav", "want 1s to 24h"},
		{"measure --every 10ms a.wav", "want 1s to 24h"},
		{"measure --every 30 a.wav", "such as 30s or 2m"},
		{"measure --every= a.wav", "such as 30s or 2m"},
		{"measure --raw s16le -", "--raw needs --rate HZ and --channels N"},
		{"measure --raw s16le --rate 48000 -", "--raw needs --rate HZ and --channels N"},
		{"measure --raw s8 --rate 48000 --channels 1 -", "s16le, s24le or f32le"},
		{"measure --raw= --rate 48000 --channels 1 -", "s16le, s24le or f32le"},
		{"measure --raw s16le --rate -1 --channels 1 -", "--rate is -1"},
		{"measure --raw s16le --rate NaN --channels 1 -", "--rate is NaN"},
		{"measure --raw s16le --rate 8000 --channels 1 -", "want 22050 to 768000"},
		{"measure --raw s16le --rate 48000 --channels 0 -", "--channels is 0; want 1 to 64"},
		{"measure --raw s16le --rate 48000 --channels 65 -", "--channels is 65"},
		{"measure --raw s16le --rate 48000 --channels 1.5 -", "--channels"},
		{"measure --rate 48000 a.wav", "add --raw"},
		{"measure - -", "only once"},
		{"measure --beats= a.wav", "--beats"},
		{"measure --movement= a.wav", "--movement"},
		{"measure --plot= a.wav", "--plot"},
		{"measure --plot d.svg a.wav b.wav", "--plot draws one reading"},
		{"measure --plot d.svg --every 10s a.wav", "--plot draws one reading"},
		{"version 1", "1"},
	}
	for _, tt := range tests {
		t.Run(tt.args, func(t *testing.T) {
			r := run(t, nil, "", strings.Fields(tt.args)...)
			if r.status != 2 {
				t.Errorf("exit status %d, want 2", r.status)
			}
			if r.out != "" || len(r.names) > 0 {
				t.Errorf("printed %q and heard %v, want nothing", r.out, r.names)
			}
			oneLine(t, r.err, tt.want)
		})
	}
	t.Run("empty file name", func(t *testing.T) {
		r := run(t, nil, "", "measure", "")
		if r.status != 2 {
			t.Errorf("exit status %d, want 2", r.status)
		}
		oneLine(t, r.err, "empty file name")
	})
}

// oneLine checks that standard error holds one line of ours with want in it.
func oneLine(t *testing.T, got, want string) {
	t.Helper()
	if !strings.HasPrefix(got, "beatwright: ") || strings.Count(got, "\n") != 1 || !strings.HasSuffix(got, "\n") {
		t.Errorf("standard error is %q, want one line", got)
	}
	if !strings.Contains(plain(got), want) {
		t.Errorf("standard error is %q, want %q in it", got, want)
	}
}

func TestHelp(t *testing.T) {
	for _, args := range []string{"--help", "measure --help"} {
		r := run(t, nil, "", strings.Fields(args)...)
		if r.status != 0 || r.err != "" || !strings.Contains(r.out, "Usage: beatwright") {
			t.Errorf("%s: status %d, printed %q, complained %q", args, r.status, r.out, r.err)
		}
		for i, l := range strings.Split(r.out, "\n") {
			if len([]rune(l)) > 80 {
				t.Errorf("%s: line %d is %d characters long: %q", args, i+1, len([]rune(l)), l)
			}
		}
	}
}

// TestBeatsMustNotReplaceTheSound: a slip of the hand keeps the recording.
func TestBeatsMustNotReplaceTheSound(t *testing.T) {
	dir := t.TempDir()
	in := wav(t, dir, "a.wav")
	link := filepath.Join(dir, "link.csv")
	if err := os.Symlink(in, link); err != nil {
		t.Skip("no links here:", err)
	}
	before, err := os.ReadFile(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, out := range []string{in, link} {
		r := run(t, engine{"a.wav": {heard()}}, "", "measure", "--beats", out, in)
		if r.status != 2 {
			t.Errorf("exit status %d, want 2", r.status)
		}
		oneLine(t, r.err, "would write over the sound file")
	}
	if after, err := os.ReadFile(in); err != nil || string(after) != string(before) {
		t.Error("the sound file was changed")
	}
}
