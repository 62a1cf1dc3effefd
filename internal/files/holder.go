package files

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Holder is the program that writes to a folder, as it says itself in
// bench.json.
type Holder struct {
	Address string    `json:"address,omitempty"` // host:port or URL, as it was given
	Process int       `json:"process"`
	Since   time.Time `json:"since"`
}

// maxHolder is far more bytes than a bench.json has.
const maxHolder = 64 << 10

// Writer tells which program writes to the folder at dir now: nil if none
// does. It asks the lock, so a bench.json left by a crash does not deceive it.
func Writer(dir string, d Disk) (*Holder, error) {
	if d == nil {
		d = OSDisk{}
	}
	l, err := d.Lock(filepath.Join(dir, lockName), false)
	switch {
	case errors.Is(err, errLocked):
		h := readHolder(d, dir)
		return &h, nil
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("ask who writes to %s: %w", dir, err)
	}
	return nil, l.Close()
}

// Asking who writes holds the lock for a moment, so one refusal is no proof.
const (
	lockTries = 5
	lockPause = 20 * time.Millisecond
)

func (f *Folder) takeLock() error {
	path := f.path(lockName)
	for try := 1; ; try++ {
		l, err := f.disk.Lock(path, true)
		if err == nil {
			f.lock = l
			return nil
		}
		if !errors.Is(err, errLocked) {
			return storage("lock the folder", err)
		}
		if try == lockTries {
			return busy(f.dir, readHolder(f.disk, f.dir))
		}
		time.Sleep(lockPause)
	}
}

// SetAddress leaves in the folder where this program can be reached.
func (f *Folder) SetAddress(address string) error {
	if err := f.mayWrite(); err != nil {
		return err
	}
	b, err := json.Marshal(Holder{Address: address, Process: os.Getpid(), Since: f.now().UTC()})
	if err != nil {
		return fmt.Errorf("write %s: %w", holderName, err)
	}
	return f.replace(holderName, append(b, '\n'))
}

// replace puts b in the place of a file of the folder in one step: after a
// crash the old one or the new one is there, whole.
func (f *Folder) replace(name string, b []byte) error {
	p, err := f.newPart()
	if err != nil {
		return err
	}
	_, err = p.Write(b)
	return p.place(f.path(name), err)
}

// readHolder gives what bench.json says, or nothing: it only makes a refusal
// friendlier.
func readHolder(d Disk, dir string) Holder {
	var h Holder
	r, err := d.Open(filepath.Join(dir, holderName))
	if err != nil {
		return h
	}
	defer r.Close()
	b, err := io.ReadAll(io.LimitReader(r, maxHolder))
	if err != nil || json.Unmarshal(b, &h) != nil {
		return Holder{}
	}
	return h
}
