package sound

import (
	"bufio"
	"context"
)

const doConvert = "record it again, or convert it to WAV or FLAC"

// newWAV reads a WAVE from its first byte.
func newWAV(ctx context.Context, name string, r *bufio.Reader) (Reader, error) {
	h, err := readWAVHead(r)
	if err != nil {
		return nil, because(name, "not a WAV that can be read", doConvert, err)
	}
	code, err := h.coding()
	if err != nil {
		return nil, because(name, "not a WAV that can be read", doConvert, err)
	}
	f := h.format(code)
	if err := checkFormat(name, f); err != nil {
		return nil, err
	}
	return newPCM(ctx, name, r, f, code, h.dataBytes), nil
}
