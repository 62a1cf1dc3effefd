package picture

import (
	"bytes"
	"io"
	"slices"

	"beatwright"
)

// sniff tells the format by the first bytes.
func sniff(r io.ReaderAt, size int64) (Format, error) {
	b := make([]byte, min(size, 64))
	n, err := r.ReadAt(b, 0)
	if err != nil && n < len(b) {
		return "", broken("file", err)
	}
	switch {
	case bytes.HasPrefix(b, []byte("\xff\xd8\xff")):
		return JPEG, nil
	case bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")):
		return PNG, nil
	case bytes.HasPrefix(b, []byte("GIF87a")), bytes.HasPrefix(b, []byte("GIF89a")):
		return GIF, nil
	case len(b) >= 12 && string(b[:4]) == "RIFF" && string(b[8:12]) == "WEBP":
		return WebP, nil
	}
	return "", refused(b)
}

// refused says what to do about a file that begins with b.
func refused(b []byte) error {
	e := &beatwright.Error{
		Code: beatwright.Wrong, Text: "this is not a picture that can be shown here",
		Do: "send JPEG, PNG, GIF or WebP", Err: ErrKind,
	}
	switch {
	case len(b) == 0:
		e.Text, e.Do = "the picture is empty", "send it again"
	case isHEIC(b):
		e.Text = "this picture is HEIC, which cannot be shown here"
		e.Do = "set the telephone's camera to take JPEG (“most compatible”), or send the picture as JPEG"
	}
	return e
}

// heicBrands are those of HEIF with HEVC, and of the container alone.
var heicBrands = []string{"heic", "heix", "heim", "heis", "hevc", "hevx", "hevm", "hevs", "mif1", "msf1"}

// isHEIC looks for the ftyp box with a brand of HEIC, major or compatible.
// AVIF shares the container's brand; it comes first there.
func isHEIC(b []byte) bool {
	if len(b) < 12 || string(b[4:8]) != "ftyp" || string(b[8:12]) == "avif" {
		return false
	}
	for at := 8; at+4 <= len(b); at += 4 {
		if at != 12 && slices.Contains(heicBrands, string(b[at:at+4])) {
			return true // 12 is the minor version
		}
	}
	return false
}
