package sqlite_test

import (
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"beatwright"
	"beatwright/internal/sqlite"
)

// victim, when set, is the folder that this program is to write to until it
// is killed; round numbers its life.
const victim, round = "BEATWRIGHT_TEST_VICTIM", "BEATWRIGHT_TEST_ROUND"

func TestMain(m *testing.M) {
	if dir := os.Getenv(victim); dir != "" {
		if err := writeForEver(dir, os.Getenv(round)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// text is what the n-th note of a life says.
func text(life string, n int) string { return fmt.Sprintf("note %d of life %s", n, life) }

// writeForEver writes notes as fast as it can, and says the number of each
// that was acknowledged.
func writeForEver(dir, life string) error {
	ctx := context.Background()
	s, err := sqlite.Open(ctx, dir, sqlite.Options{})
	if err != nil {
		return err
	}
	for n := 1; ; n++ {
		t := &beatwright.Note{
			Entry: beatwright.Entry{ID: beatwright.ID(fmt.Sprintf("n-%s-%d", life, n))},
			Job:   "job-00001", Text: text(life, n), At: epoch,
		}
		if _, err := s.Apply(ctx, beatwright.Change{What: t.Text, Job: t.Job, Put: []beatwright.Thing{t}}); err != nil {
			return err
		}
		fmt.Println(n) // the pipe is not buffered
	}
}

// TestKilled: a program that writes is killed, again and again, after a drawn
// number of acknowledgements; on the folder all of them are found.
func TestKilled(t *testing.T) {
	t.Parallel()
	lives := 50
	if testing.Short() {
		lives = 5
	}
	dir := t.TempDir()
	s := open(t, dir)
	o, w, j := aJob(1)
	apply(t, s, j.ID, "received", o, w, j)
	s.Close()
	r := rand.New(rand.NewPCG(9, 10))
	acknowledged := map[string]int{}
	total, unsaid := 0, 0
	for i := range lives {
		life := strconv.Itoa(i)
		acknowledged[life] = kill(t, dir, life, 1+r.IntN(30))
		total += acknowledged[life]
		unsaid += found(t, dir, life, acknowledged)
	}
	t.Logf("%d lives, %d acknowledgements, none lost; %d changes kept whose acknowledgement was cut off", lives, total, unsaid)
}

// kill starts a life and ends it after some acknowledgements; it gives how
// many there were, those that were said before the end came included.
func kill(t *testing.T, dir, life string, after int) (acknowledged int) {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(exe)
	c.Env = append(os.Environ(), victim+"="+dir, round+"="+life)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if acknowledged++; lines.Text() != strconv.Itoa(acknowledged) {
			t.Fatalf("acknowledgement %d reads %q", acknowledged, lines.Text())
		}
		if acknowledged == after {
			if err := c.Process.Kill(); err != nil {
				t.Fatal(err)
			}
		}
	}
	c.Wait() // says that it was killed
	if acknowledged < after {
		t.Fatalf("life %s ended by itself after %d acknowledgements", life, acknowledged)
	}
	return acknowledged
}

// found wants all of every life on the folder, and gives how many changes of
// the last were kept without having been said: one at most.
func found(t *testing.T, dir, life string, acknowledged map[string]int) (unsaid int) {
	t.Helper()
	ctx := context.Background()
	s := open(t, dir)
	defer s.Close()
	if err := s.Verify(ctx); err != nil {
		t.Fatal(err)
	}
	notes, err := s.All(ctx, beatwright.KindNote)
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]bool{}
	for _, n := range notes {
		said[n.(*beatwright.Note).Text] = true
	}
	for l, n := range acknowledged {
		for i := range n {
			if !said[text(l, i+1)] {
				t.Errorf("after life %s: note %d of life %s was acknowledged and is lost", life, i+1, l)
			}
		}
	}
	for said[text(life, acknowledged[life]+unsaid+1)] {
		unsaid++
	}
	if unsaid > 1 {
		t.Errorf("life %s kept %d changes that it had not acknowledged", life, unsaid)
	}
	h, err := s.History(ctx, "", 0, 1_000_000)
	if err != nil || len(h) != len(notes)+1 {
		t.Errorf("life %s: the history has %d changes for %d notes, %v", life, len(h), len(notes), err)
	}
	return unsaid
}
