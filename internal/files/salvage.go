package files

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"time"
)

// Unfinished is sound whose keeping was cut short, or finished without the
// record's being told (Forget was not called).
type Unfinished struct {
	ID    string
	Begun time.Time // zero where the sidecar is gone
	// Name is set where the sound has its name already, and is whole; else
	// it lies at Path, whole up to Durable samples, which are Bytes bytes;
	// what follows may be sound, part of it, or rubbish. Both are empty where
	// the sound is gone, which no crash does.
	Name    Name
	Path    string
	Durable int64
	Bytes   int64
	Size    int64 // bytes there are
	// Marks are all whole ones, also of samples after Durable.
	Marks []Mark
}

// Salvage lists sound that was not finished or not forgotten, in the order of
// IDs, without that which is growing now. Where a Forget was cut short, it is
// completed.
func (f *Folder) Salvage() ([]Unfinished, error) {
	ids, err := f.incomingIDs()
	if err != nil {
		return nil, err
	}
	var all []Unfinished
	for _, id := range ids {
		if f.isActive(id) {
			continue
		}
		u, there, err := f.salvage(id)
		if err != nil {
			return nil, err
		}
		if there {
			all = append(all, u)
		}
	}
	return all, nil
}

// incomingIDs lists the IDs that have sound or sidecar in incoming.
func (f *Folder) incomingIDs() ([]string, error) {
	list, err := f.disk.ReadDir(f.path(incomingDir))
	if err != nil {
		return nil, fmt.Errorf("look for unfinished sound: %w", err)
	}
	var ids []string
	seen := map[string]bool{}
	for _, e := range list {
		id, sound := strings.CutSuffix(e.Name(), soundEnd)
		if !sound {
			var marks bool
			if id, marks = strings.CutSuffix(id, marksEnd); !marks {
				continue
			}
		}
		if goodID(id) && !seen[id] {
			seen[id] = true
			ids = append(ids, id)
		}
	}
	return ids, nil
}

func (f *Folder) salvage(id string) (u Unfinished, there bool, err error) {
	u = Unfinished{ID: id}
	last, err := f.readMarks(&u)
	if err != nil {
		return u, false, err
	}
	if last.Forgotten {
		return u, false, f.clear(id)
	}
	if last.Finished != "" {
		s, err := f.Stat(last.Finished)
		if err == nil {
			u.Name, u.Size = last.Finished, s.Size()
			return u, true, nil
		}
		if !errors.Is(err, ErrNotThere) {
			return u, false, err
		}
	}
	u.Path = f.path(incomingDir, id+soundEnd)
	s, err := f.disk.Stat(u.Path)
	if errors.Is(err, fs.ErrNotExist) {
		u.Path = ""
		if u.Durable > 0 || len(u.Marks) > 0 {
			return u, true, nil // lost, by no crash; the caller should say so
		}
		// Begun and lost before Incoming returned: nothing was promised.
		return u, false, f.clear(id)
	}
	if err != nil {
		return u, false, fmt.Errorf("look at sound %s: %w", id, err)
	}
	u.Size = s.Size()
	return u, true, nil
}

// clear takes leftovers away, where that is allowed.
func (f *Folder) clear(id string) error {
	if f.readOnly {
		return nil
	}
	return f.removeIncoming(id)
}

// readMarks reads the whole lines of a sidecar, and gives what its last ones
// said of finishing.
func (f *Folder) readMarks(u *Unfinished) (last line, err error) {
	r, err := f.disk.Open(f.path(incomingDir, u.ID+marksEnd))
	if errors.Is(err, fs.ErrNotExist) {
		return last, nil
	}
	if err != nil {
		return last, fmt.Errorf("read marks of sound %s: %w", u.ID, err)
	}
	defer r.Close()
	b, err := io.ReadAll(r)
	if err != nil {
		return last, fmt.Errorf("read marks of sound %s: %w", u.ID, err)
	}
	for len(b) > 0 {
		text, rest, whole := bytes.Cut(b, []byte("\n"))
		var l line
		b = rest
		// A broken line hides no later one: what a line claims was true
		// before it was written, whatever became of its neighbours.
		if !whole || json.Unmarshal(text, &l) != nil {
			continue
		}
		u.take(l)
		last.Finished = laterName(l.Finished, last.Finished)
		last.Forgotten = last.Forgotten || l.Forgotten
	}
	return last, nil
}

// laterName gives a good new name, else the old one.
func laterName(n, old Name) Name {
	if n == "" {
		return old
	}
	if _, err := ParseName(string(n)); err != nil {
		return old
	}
	return n
}

func (u *Unfinished) take(l line) {
	switch {
	case l.Begun != nil:
		u.Begun = *l.Begun
	case l.Durable != nil:
		u.Durable, u.Bytes = l.Durable.Samples, l.Durable.Bytes
	case l.Mark != nil && l.Mark.Kind != "":
		u.Marks = append(u.Marks, *l.Mark)
	}
}

// Forget takes away what is left in incoming of a sound: call it when the
// record holds the name that Finish, or putting the salvaged sound, gave. A
// sound that is gone already is no error.
func (f *Folder) Forget(id string) error {
	if err := f.mayWrite(); err != nil {
		return err
	}
	if !goodID(id) {
		return fmt.Errorf("forget sound: %.80q: %w", id, ErrName)
	}
	if f.isActive(id) {
		return fmt.Errorf("forget sound %s: it is still growing", id)
	}
	if err := f.noteForgotten(id); err != nil {
		return storage("forget sound "+id, err)
	}
	return f.removeIncoming(id)
}

// noteForgotten writes the line that lets Salvage complete a removal.
func (f *Folder) noteForgotten(id string) error {
	m, err := f.disk.Append(f.path(incomingDir, id+marksEnd))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	b, err := json.Marshal(line{Forgotten: true})
	if err == nil {
		// A line cut short before it must not swallow this one.
		_, err = m.Write(append([]byte("\n"), append(b, '\n')...))
	}
	if err == nil {
		err = m.Sync()
	}
	return errors.Join(err, m.Close())
}

// removeIncoming removes the sound, then the sidecar that says it may.
func (f *Folder) removeIncoming(id string) error {
	for _, end := range []string{soundEnd, marksEnd} {
		err := f.disk.Remove(f.path(incomingDir, id+end))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return storage("forget sound "+id, err)
		}
		if err := f.disk.SyncDir(f.path(incomingDir)); err != nil {
			return storage("forget sound "+id, err)
		}
	}
	return nil
}
