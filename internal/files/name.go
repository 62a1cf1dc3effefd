package files

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"strings"
)

// Kind is what a kept file is, and the ending of its name.
type Kind string

// The kinds that are kept.
const (
	FLAC Kind = "flac"
	WAV  Kind = "wav"
	MP3  Kind = "mp3"
	Ogg  Kind = "ogg"
	M4A  Kind = "m4a"
	WebM Kind = "webm"
	JPEG Kind = "jpg"
	PNG  Kind = "png"
	GIF  Kind = "gif"
	WebP Kind = "webp"
)

// places say in which directory a kind is kept.
var places = map[Kind]string{
	FLAC: soundDir, WAV: soundDir, MP3: soundDir, Ogg: soundDir, M4A: soundDir, WebM: soundDir,
	JPEG: pictureDir, PNG: pictureDir, GIF: pictureDir, WebP: pictureDir,
}

// Name names a kept file by its content: 64 hexadecimal digits of its
// SHA-256, a point and its kind. It holds no path; one that came from outside
// must pass ParseName.
type Name string

// hexLen is the length of a SHA-256 in hexadecimal digits.
const hexLen = 2 * sha256.Size

// ParseName takes a name as this package gives it, and nothing else: lower
// case only, so that a file has one name.
func ParseName(s string) (Name, error) {
	if len(s) <= hexLen+1 || s[hexLen] != '.' || strings.Trim(s[:hexLen], "0123456789abcdef") != "" {
		return "", fmt.Errorf("%.80q: %w", s, ErrName)
	}
	if _, ok := places[Kind(s[hexLen+1:])]; !ok {
		return "", fmt.Errorf("%.80q: %w", s, ErrName)
	}
	return Name(s), nil
}

// Kind is what the file is.
func (n Name) Kind() Kind {
	_, k, _ := strings.Cut(string(n), ".")
	return Kind(k)
}

// IsPicture tells pictures from sound.
func (n Name) IsPicture() bool { return places[n.Kind()] == pictureDir }

// hash gives the digits.
func (n Name) hash() string { return string(n)[:hexLen] }

// rel is where the file is, from the folder.
func (n Name) rel() string {
	return filepath.Join(places[n.Kind()], string(n)[:2], string(n))
}

// newName makes the name of content with this sum.
func newName(sum []byte, k Kind) Name { return Name(hex.EncodeToString(sum) + "." + string(k)) }
