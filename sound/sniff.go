package sound

import (
	"bufio"
	"bytes"
	"io"
	"unicode/utf8"
)

// kind is what a stream is, by its first bytes.
type kind struct {
	name   string // as a person would say it: "a PNG picture"
	not    bool   // never a sound: say so and stop
	advice string
}

var (
	kindWAV      = kind{name: "a WAV sound"}
	kindFLAC     = kind{name: "a FLAC sound"}
	kindPlaylist = kind{name: "a playlist", not: true, advice: "name the sound file itself"}
	kindText     = kind{name: "text", not: true, advice: doName}
	kindUnknown  = kind{}
)

const doName = "name a sound file"

// magic tells a kind by bytes at a place.
type magic struct {
	at   int
	sign string
	kind kind
}

func picture(name string) kind { return kind{name: name, not: true, advice: doName} }

// magics come in order: the first that fits counts.
var magics = []magic{
	{0, "fLaC", kindFLAC},
	{0, "\x89PNG\r\n\x1a\n", picture("a PNG picture")},
	{0, "\xFF\xD8\xFF", picture("a JPEG picture")},
	{0, "GIF8", picture("a GIF picture")},
	{8, "WEBP", picture("a WebP picture")},
	{0, "II*\x00", picture("a TIFF picture")},
	{0, "MM\x00*", picture("a TIFF picture")},
	{4, "ftyphei", picture("a HEIC picture")},
	{4, "ftypmif1", picture("a HEIC picture")},
	{4, "ftypavif", picture("an AVIF picture")},
	{0, "%PDF-", picture("a PDF document")},
	{0, "PK\x03\x04", picture("a ZIP archive")},
	{0, "\x1f\x8b", picture("a gzip archive")},
	{0, "7z\xbc\xaf", picture("a 7z archive")},
	{0, "\x7fELF", picture("a program")},
	{0, "MZ\x90\x00", picture("a program")},
	{0, "SQLite format 3\x00", picture("a database")},
}

// playlists begin with one of these, after blanks and in any case.
var playlists = []string{"#extm3u", "ffconcat", "[playlist]", "[reference]", "v=0", "<?xml", "<mpd", "<smil", "<asx", "<html", "<!doctype", "http:", "https:", "rtsp:", "file:"}

// sniff looks at the start without taking it.
func sniff(b *bufio.Reader) (kind, []byte, error) {
	head, err := peekSome(b, 16)
	if isWAV(head) {
		return kindWAV, head, err
	}
	for _, m := range magics {
		if len(head) >= m.at+len(m.sign) && string(head[m.at:m.at+len(m.sign)]) == m.sign {
			return m.kind, head, err
		}
	}
	head, err = peekSome(b, 4096)
	if k := sniffText(head); k != kindUnknown {
		return k, head, err
	}
	return kindUnknown, head, err
}

// peekSome peeks n bytes, or what there is before the end.
func peekSome(b *bufio.Reader, n int) ([]byte, error) {
	head, err := b.Peek(n)
	if err == io.EOF && len(head) > 0 {
		err = nil
	}
	return head, err
}

func isWAV(h []byte) bool {
	if len(h) < 12 || string(h[8:12]) != "WAVE" {
		return false
	}
	id := string(h[:4])
	return id == "RIFF" || id == "RF64" || id == "BW64"
}

// sniffText recognises playlists and other text, which must never reach a
// program that follows what they name.
func sniffText(head []byte) kind {
	t := bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF"))
	t = bytes.ToLower(bytes.TrimLeft(t, " \t\r\n"))
	for _, p := range playlists {
		if bytes.HasPrefix(t, []byte(p)) {
			return kindPlaylist
		}
	}
	if bytes.HasPrefix(head, []byte("\xFF\xFE")) || bytes.HasPrefix(head, []byte("\xFE\xFF")) {
		if bytes.Count(head, []byte{0})*3 > len(head) {
			return kindText // UTF-16
		}
	}
	if isText(head) {
		return kindText
	}
	return kindUnknown
}

// isText says whether all of head could be written text in UTF-8.
func isText(head []byte) bool {
	for len(head) > 0 {
		r, n := utf8.DecodeRune(head)
		if r == utf8.RuneError && n == 1 {
			return len(head) < utf8.UTFMax // cut inside a letter
		}
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' && r != '\f' && r != 0x1b {
			return false
		}
		head = head[n:]
	}
	return true
}

// refuse says what is there instead of a sound.
func refuse(name string, k kind) error {
	if k.name == "" {
		return unreadable(name, "not a kind of sound that is known", "name a sound file, or convert it to WAV or FLAC")
	}
	return unreadable(name, "this is %s, not a sound", k.advice, k.name)
}
