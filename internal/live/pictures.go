package live

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image/jpeg"
	"io"
	"slices"
	"strings"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/internal/picture"
)

// Upload is a picture that came to a job.
type Upload struct {
	// Name is what it was called; it is used in words only.
	Name  string
	Bytes io.ReaderAt
	Size  int64
}

// Pictures are what came together, and what is said of them.
type Pictures struct {
	Uploads []Upload
	// Finding is the one that they show, if any.
	Finding beatwright.ID
	Says    string
	Who     string
}

// KeepPictures keeps pictures with upright copies that hold nothing but
// pixels, and writes them into the job, and to the finding that they show, in
// one act: all of them or none. The originals are kept as they came.
func (b *Bench) KeepPictures(ctx context.Context, job string, ps Pictures) ([]*beatwright.Picture, error) {
	p, err := b.Job(ctx, job)
	if err != nil {
		return nil, err
	}
	f, err := findingOf(p, ps.Finding)
	if err != nil {
		return nil, err
	}
	var put []beatwright.Thing
	var out []*beatwright.Picture
	var fresh []files.Name // not in the folder before
	for _, u := range ps.Uploads {
		pic, isNew, err := b.keepPicture(ctx, u)
		if err != nil {
			b.forget(fresh)
			return nil, alone(err, u, len(ps.Uploads))
		}
		if isNew {
			fresh = append(fresh, files.Name(pic.File))
		}
		pic.Job, pic.Says = p.Job.ID, strings.TrimSpace(ps.Says)
		put, out = append(put, pic), append(out, pic)
		if f != nil {
			f.Pictures = append(f.Pictures, pic.ID)
		}
	}
	if f != nil {
		put = append(put, f)
	}
	if _, err = b.Apply(ctx, beatwright.Change{Who: ps.Who, What: pictureWords(ps, f), Job: p.Job.ID, Put: put}); err != nil {
		b.forget(fresh)
		return nil, err
	}
	return out, nil
}

func findingOf(p *beatwright.Papers, id beatwright.ID) (*beatwright.Finding, error) {
	if id == "" {
		return nil, nil
	}
	i := slices.IndexFunc(p.Findings, func(f *beatwright.Finding) bool { return f.ID == id })
	if i < 0 {
		return nil, beatwright.NotFound("finding", string(id))
	}
	return p.Findings[i], nil
}

func pictureWords(ps Pictures, f *beatwright.Finding) string {
	words := "picture kept"
	if n := len(ps.Uploads); n > 1 {
		words = fmt.Sprintf("%d pictures kept", n)
	}
	if f != nil {
		return words + " of: " + f.What
	}
	if ps.Says != "" {
		words += ": " + strings.TrimSpace(ps.Says)
	}
	return words
}

// keepPicture puts one picture and its copies into the folder, and tells
// whether its content was not there before.
func (b *Bench) keepPicture(ctx context.Context, u Upload) (*beatwright.Picture, bool, error) {
	info, err := picture.Look(u.Bytes, u.Size)
	if err != nil {
		return nil, false, err
	}
	if err := b.working.take(ctx); err != nil {
		return nil, false, err
	}
	defer b.working.give()
	copies, err := picture.Copies(ctx, u.Bytes, u.Size, picture.Thumbnail, picture.View)
	if err != nil {
		return nil, false, err
	}
	size, err := jpeg.DecodeConfig(bytes.NewReader(copies[1]))
	if err != nil {
		return nil, false, fmt.Errorf("look at the copy of a picture: %w", err)
	}
	sum, err := nameOf(u, files.Kind(info.Format))
	if err != nil {
		return nil, false, err
	}
	_, before := b.Folder.Stat(sum)
	name, err := b.Folder.Put(files.Kind(info.Format), io.NewSectionReader(u.Bytes, 0, u.Size), picture.MaxBytes)
	if err != nil {
		return nil, false, err
	}
	isNew := before != nil
	for i, width := range []int{picture.Thumbnail, picture.View} {
		if err := b.putCopy(name, width, copies[i]); err != nil {
			if isNew {
				b.forget([]files.Name{name})
			}
			return nil, false, err
		}
	}
	pic := &beatwright.Picture{Entry: b.newEntry(), File: string(name), Width: size.Width, Height: size.Height, At: b.Now()}
	if !info.Taken.IsZero() {
		pic.Taken = &info.Taken
	}
	return pic, isNew, nil
}

func (b *Bench) putCopy(n files.Name, width int, body []byte) error {
	return b.Folder.PutCopy(n, width, func(w io.Writer) error {
		_, err := w.Write(body)
		return err
	})
}

// forget takes back what was put for an act that then failed. That it could
// not be taken back leaves a file that nothing speaks of, and no more.
func (b *Bench) forget(names []files.Name) {
	for _, n := range names {
		_ = b.Folder.Remove(n)
	}
}

// alone says of which picture an error is, and what became of the others.
func alone(err error, u Upload, of int) error {
	what := "the picture"
	if name := baseName(u.Name); name != "" {
		what += " " + name
	}
	do := "nothing was kept of it"
	if of > 1 {
		do = fmt.Sprintf("none of the %d pictures was kept; leave this one out, or send it otherwise", of)
	}
	e, ok := errors.AsType[*beatwright.Error](err)
	if !ok {
		return err
	}
	if e.Do != "" {
		do = e.Do + "; " + do
	}
	return &beatwright.Error{Code: e.Code, Field: "picture", Text: what + ": " + e.Text, Err: e.Err, Do: do}
}

// Sizes of a picture that can be asked for.
const (
	ThumbSize    = "thumb"
	ViewSize     = "view"
	OriginalSize = "original"
)

// Picture opens a picture in a size. A copy that is gone is made again.
func (b *Bench) Picture(ctx context.Context, id beatwright.ID, size string) (*Kept, error) {
	p, err := beatwright.Load[*beatwright.Picture](ctx, b, beatwright.KindPicture, id)
	if err != nil {
		return nil, err
	}
	width, ok := map[string]int{ThumbSize: picture.Thumbnail, ViewSize: picture.View}[size]
	switch {
	case size == OriginalSize:
		return b.kept(p.File)
	case !ok:
		return nil, beatwright.NotFound("size of a picture", size)
	}
	n, err := files.ParseName(p.File)
	if err != nil {
		return nil, err
	}
	f, err := b.Folder.OpenCopy(n, width)
	if errors.Is(err, files.ErrNotThere) {
		if err := b.copyAgain(ctx, n, width); err != nil {
			return nil, err
		}
		f, err = b.Folder.OpenCopy(n, width)
	}
	if err != nil {
		return nil, err
	}
	return opened(f, fmt.Sprintf("%s-%d", n, width), mediaTypes[files.JPEG])
}

func (b *Bench) copyAgain(ctx context.Context, n files.Name, width int) error {
	f, err := b.Folder.Open(n)
	if err != nil {
		return gone(string(n), err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	return b.Folder.PutCopy(n, width, func(w io.Writer) error { return picture.Copy(ctx, w, f, info.Size(), width) })
}

// gone says of a file that the record speaks of, and that is not there, what
// can be done.
func gone(name string, err error) error {
	if !errors.Is(err, files.ErrNotThere) {
		return err
	}
	return &beatwright.Error{Code: beatwright.Missing, Text: "the file " + name + " is not in the workshop folder", Err: err, Do: "bring it back from a copy of the folder"}
}

// DropPicture takes a picture out of a job and out of what names it, in one
// act. Its file stays, so that the act can be undone.
func (b *Bench) DropPicture(ctx context.Context, p *beatwright.Papers, pic *beatwright.Picture, who string) error {
	c := beatwright.Change{Who: who, What: fmt.Sprintf("picture %d taken out", pic.Number), Job: p.Job.ID, Remove: []beatwright.Key{beatwright.KeyOf(pic)}}
	without := func(ids []beatwright.ID) []beatwright.ID {
		return slices.DeleteFunc(slices.Clone(ids), func(id beatwright.ID) bool { return id == pic.ID })
	}
	for _, f := range p.Findings {
		if slices.Contains(f.Pictures, pic.ID) {
			f.Pictures = without(f.Pictures)
			c.Put = append(c.Put, f)
		}
	}
	for _, f := range p.Functions {
		if slices.Contains(f.Pictures, pic.ID) {
			f.Pictures = without(f.Pictures)
			c.Put = append(c.Put, f)
		}
	}
	_, err := b.Apply(ctx, c)
	return err
}

// nameOf is the name that the folder will give a picture.
func nameOf(u Upload, k files.Kind) (files.Name, error) {
	sum := sha256.New()
	if _, err := io.Copy(sum, io.NewSectionReader(u.Bytes, 0, u.Size)); err != nil {
		return "", fmt.Errorf("read a picture: %w", err)
	}
	return files.ParseName(hex.EncodeToString(sum.Sum(nil)) + "." + string(k))
}
