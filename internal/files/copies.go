package files

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"
)

// widest is the widest copy that is kept, in pixels; far above what is asked.
const widest = 8192

// copyRel is where the copy of a picture in a width is, from the folder.
func copyRel(n Name, width int) (string, error) {
	n, err := ParseName(string(n))
	if err != nil {
		return "", err
	}
	if !n.IsPicture() || width < 1 || width > widest {
		return "", fmt.Errorf("copy of %s, %d pixels wide: %w", n, width, ErrName)
	}
	return filepath.Join(thumbDir, string(n)[:2], fmt.Sprintf("%s-%d.jpg", n.hash(), width)), nil
}

// OpenCopy opens a smaller copy of a picture; ErrNotThere if it was not made.
func (f *Folder) OpenCopy(n Name, width int) (File, error) {
	rel, err := copyRel(n, width)
	if err != nil {
		return nil, err
	}
	r, err := f.disk.Open(f.path(rel))
	return r, f.notThere(n, err)
}

// PutCopy keeps what write writes, a JPEG, as the copy of a picture in a
// width, in place of one there may be. It is seen whole or not at all.
func (f *Folder) PutCopy(n Name, width int, write func(io.Writer) error) error {
	if err := f.mayWrite(); err != nil {
		return err
	}
	rel, err := copyRel(n, width)
	if err != nil {
		return err
	}
	p, err := f.newPart()
	if err != nil {
		return err
	}
	err = write(diskWriter{p})
	if err == nil {
		err = f.makePlace(rel)
	}
	if err != nil {
		p.drop()
		return err
	}
	return p.place(f.path(rel), nil)
}

// removeCopies removes the copies of the picture with this hash.
func (f *Folder) removeCopies(hash string) (n int, err error) {
	dir := f.path(thumbDir, hash[:2])
	list, err := f.disk.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	for _, e := range list {
		if copyOf(e.Name()) != hash {
			continue
		}
		if err := f.disk.Remove(filepath.Join(dir, e.Name())); err != nil {
			return n, err
		}
		n++
	}
	if n == 0 {
		return 0, nil
	}
	return n, f.disk.SyncDir(dir)
}

// copyOf gives the hash in the name of a copy, "" if it is no such name.
func copyOf(name string) string {
	hash, rest, _ := strings.Cut(name, "-")
	width, end, _ := strings.Cut(rest, ".")
	if _, err := strconv.Atoi(width); err != nil || end != string(JPEG) {
		return ""
	}
	if _, err := ParseName(hash + "." + string(JPEG)); err != nil {
		return ""
	}
	return hash
}
