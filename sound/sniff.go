package sound

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"unicode/utf8"
)

// kind is what a stream is, by its content.
type kind struct {
	name   string // as a person would say it: "a PNG picture"
	not    bool   // never a sound: say so and stop
	advice string
	// open reads it; nil leaves it to ffmpeg.
	open func(context.Context, string, *bufio.Reader) (Reader, error)
}

const doName = "name a sound file"

func foreign(name string) kind { return kind{name: name, not: true, advice: doName} }
func others(name string) kind  { return kind{name: name} }

// magic tells a kind by bytes at a place.
type magic struct {
	at   int
	sign string
	kind kind
}

// magics come in order: the first that fits counts.
var magics = []magic{
	{0, "fLaC", kind{name: "a FLAC sound", open: newFLAC}},
	{0, "\x89PNG\r\n\x1a\n", foreign("a PNG picture")},
	{0, "\xFF\xD8\xFF", foreign("a JPEG picture")},
	{0, "GIF8", foreign("a GIF picture")},
	{8, "WEBP", foreign("a WebP picture")},
	{0, "II*\x00", foreign("a TIFF picture")},
	{0, "MM\x00*", foreign("a TIFF picture")},
	{4, "ftyphei", foreign("a HEIC picture")},
	{4, "ftypmif1", foreign("a HEIC picture")},
	{4, "ftypavif", foreign("an AVIF picture")},
	{0, "%PDF-", foreign("a PDF document")},
	{0, "PK\x03\x04", foreign("a ZIP archive")},
	{0, "\x1f\x8b", foreign("a gzip archive")},
	{0, "7z\xbc\xaf", foreign("a 7z archive")},
	{0, "\x7fELF", foreign("a program")},
	{0, "MZ\x90\x00", foreign("a program")},
	{0, "SQLite format 3\x00", foreign("a database")},
	{4, "ftyp", others("an MPEG-4 sound or video")},
	{4, "moov", others("a QuickTime sound or video")},
	{4, "mdat", others("a QuickTime sound or video")},
	{0, "\x1a\x45\xdf\xa3", others("a WebM or Matroska sound or video")},
	{0, "OggS", others("an Ogg sound")},
	{8, "AIFF", others("an AIFF sound")},
	{8, "AIFC", others("an AIFF sound")},
	{8, "AVI ", others("an AVI video")},
	{0, "wvpk", others("a WavPack sound")},
	{0, "TTA1", others("a TTA sound")},
	{0, "caff", others("a Core Audio sound")},
	{0, "MAC ", others("a Monkey's Audio sound")},
	{0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11", others("a Windows Media sound or video")},
	{0, "FLV\x01", others("a Flash video")},
	{0, "#!AMR", others("an AMR sound")},
	{0, ".snd", others("an AU sound")},
	{0, "riff\x2e\x91\xcf\x11", others("a Wave64 sound")},
	{0, "DSD ", others("a DSD sound")},
	{0, "Creative Voice File", others("a VOC sound")},
	{0, "MPCK", others("a Musepack sound")},
	{0, "\x00\x00\x01\xba", others("an MPEG video")},
	{0, "\x0b\x77", others("an AC-3 sound")},
}

// playlists begin with one of these, after blanks and in any case.
var playlists = []string{
	"#extm3u", "ffconcat", "[playlist]", "[reference]", "v=0", "<?xml", "<mpd", "<smil", "<asx",
	"<html", "<!doctype", "http:", "https:", "rtsp:", "file:",
}

// sniff looks at the start without taking it; only tags are dropped.
func sniff(b *bufio.Reader) (kind, error) {
	if err := dropTags(b); err != nil {
		return kind{}, err
	}
	head, err := peekSome(b, 24)
	if err != nil {
		return kind{}, err
	}
	if isWAV(head) {
		return sniffWAV(b), nil
	}
	if string(head[:min(4, len(head))]) == "OggS" {
		return sniffOgg(b), nil
	}
	for _, m := range magics {
		if len(head) >= m.at+len(m.sign) && string(head[m.at:m.at+len(m.sign)]) == m.sign {
			return m.kind, nil
		}
	}
	if head, err = peekSome(b, 16<<10); err != nil {
		return kind{}, err
	}
	if k, ok := sniffText(head); ok {
		return k, nil
	}
	return sniffMPEG(b, head), nil
}

// peekSome peeks n bytes, or what there is before the end; an error comes
// only with nothing.
func peekSome(b *bufio.Reader, n int) ([]byte, error) {
	head, err := b.Peek(n)
	if len(head) > 0 {
		err = nil
	}
	return head, err
}

// maxTags bounds the bytes of tags dropped; chosen: covers are a few MB.
const maxTags = 64 << 20

// dropTags drops ID3 version 2 tags, which may stand before any kind.
func dropTags(b *bufio.Reader) error {
	dropped := 0
	for {
		h, err := b.Peek(10)
		if len(h) < 10 || string(h[:3]) != "ID3" || (h[6]|h[7]|h[8]|h[9])&0x80 != 0 {
			if len(h) > 0 {
				err = nil
			}
			return err
		}
		size := 10 + int(h[6])<<21 + int(h[7])<<14 + int(h[8])<<7 + int(h[9])
		if dropped += size; dropped > maxTags {
			return nil
		}
		if _, err := b.Discard(size); err != nil {
			return err
		}
	}
}

func isWAV(h []byte) bool {
	if len(h) < 12 || string(h[8:12]) != "WAVE" {
		return false
	}
	id := string(h[:4])
	return id == "RIFF" || id == "RF64" || id == "BW64"
}

// sniffWAV leaves compressed WAVE to ffmpeg, if its format is told early, as
// it is in practice.
func sniffWAV(b *bufio.Reader) kind {
	wav := kind{name: "a WAV sound", open: newWAV}
	for at := 12; at < 4096; {
		h, err := b.Peek(at + 24)
		if err != nil {
			return wav
		}
		h = h[at:]
		size := int64(binary.LittleEndian.Uint32(h[4:]))
		switch string(h[:4]) {
		case "fmt ":
			if size < 16 {
				return wav // which says what is wrong
			}
			switch binary.LittleEndian.Uint16(h[8:]) {
			case tagPCM, tagFloat, tagExtensible:
				return wav
			}
			return kind{name: "a compressed WAV sound"}
		case "data":
			return wav
		}
		if size > 4096 {
			return wav
		}
		at += 8 + int(size+size&1)
	}
	return wav
}

// sniffOgg tells Opus that is read here from all else in an Ogg.
func sniffOgg(b *bufio.Reader) kind {
	h, _ := peekSome(b, 28+19)
	if len(h) == 28+19 && h[26] == 1 {
		if _, ok := parseOpusHead(h[28:]); ok {
			return kind{name: "an Ogg Opus sound", open: newOpus}
		}
	}
	return others("an Ogg sound")
}

// sniffText recognises playlists and other text, which must never reach a
// program that follows what they name.
func sniffText(head []byte) (kind, bool) {
	t := bytes.TrimPrefix(head, []byte("\xEF\xBB\xBF"))
	t = bytes.ToLower(bytes.TrimLeft(t, " \t\r\n\x00"))
	for _, p := range playlists {
		if bytes.HasPrefix(t, []byte(p)) {
			return kind{name: "a playlist or page", not: true, advice: "name the sound file itself"}, true
		}
	}
	utf16 := (bytes.HasPrefix(head, []byte("\xFF\xFE")) || bytes.HasPrefix(head, []byte("\xFE\xFF"))) &&
		bytes.Count(head, []byte{0})*3 > len(head)
	if utf16 || isText(head) {
		return foreign("text"), true
	}
	return kind{}, false
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

// sniffMPEG finds the kinds that have no mark but frames that follow each
// other; what comes before MP3's first frame is dropped.
func sniffMPEG(b *bufio.Reader, head []byte) kind {
	if len(head) > 2*188 && head[0] == 0x47 && head[188] == 0x47 && head[2*188] == 0x47 {
		return others("an MPEG video")
	}
	if len(head) > 1 && head[0] == 0xFF && head[1]&0xF6 == 0xF0 {
		return others("an AAC sound")
	}
	at, h, ok := findMP3(head)
	switch {
	case !ok:
		return kind{}
	case h.layer != 3:
		return others("an MPEG sound")
	}
	_, _ = b.Discard(at)
	return kind{name: "an MP3 sound", open: newMP3}
}
