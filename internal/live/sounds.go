package live

import (
	"context"
	"io"
	"time"

	"beatwright"
	"beatwright/internal/files"
)

// Kept is an open file of the folder, with what a browser must be told of it.
type Kept struct {
	io.ReadSeekCloser
	// Name is the name by content: it changes when a byte does.
	Name string
	Kind string // the media type
	At   time.Time
}

// mediaTypes are those of the kinds that are kept.
var mediaTypes = map[files.Kind]string{
	files.FLAC: "audio/flac", files.WAV: "audio/wav", files.MP3: "audio/mpeg", files.Ogg: "audio/ogg",
	files.M4A: "audio/mp4", files.WebM: "audio/webm",
	files.JPEG: "image/jpeg", files.PNG: "image/png", files.GIF: "image/gif", files.WebP: "image/webp",
}

// Sound opens the kept sound of a hearing.
func (b *Bench) Sound(ctx context.Context, hearing beatwright.ID) (*beatwright.Hearing, *Kept, error) {
	h, err := beatwright.Load[*beatwright.Hearing](ctx, b, beatwright.KindHearing, hearing)
	if err != nil {
		return nil, nil, err
	}
	if h.Sound == "" {
		return nil, nil, beatwright.NotFound("kept sound of hearing", string(h.ID))
	}
	k, err := b.kept(h.Sound)
	return h, k, err
}

// kept opens a file by its name by content; no other name opens anything.
func (b *Bench) kept(name string) (*Kept, error) {
	n, err := files.ParseName(name)
	if err != nil {
		return nil, err
	}
	f, err := b.Folder.Open(n)
	if err != nil {
		return nil, gone(name, err)
	}
	return opened(f, name, mediaTypes[n.Kind()])
}

func opened(f files.File, name, kind string) (*Kept, error) {
	k := &Kept{ReadSeekCloser: f, Name: name, Kind: kind}
	if info, err := f.Stat(); err == nil {
		k.At = info.ModTime()
	}
	return k, nil
}

// InMemory tells whether what stands behind a reading needs no measuring.
func (b *Bench) InMemory(reading beatwright.ID) bool {
	_, ok := b.results.get(reading)
	return ok
}
