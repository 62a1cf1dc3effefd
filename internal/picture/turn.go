package picture

import "image"

// upright turns m as EXIF's Orientation says, CIPA DC-008 tag 0x0112, where
// the stored first row and first column are, as seen:
//
//	1 top, left      5 left, top
//	2 top, right     6 right, top
//	3 bottom, right  7 right, bottom
//	4 bottom, left   8 left, bottom
func upright(m *image.RGBA, turn int) *image.RGBA {
	if turn < 2 || turn > 8 {
		return m
	}
	w, h := m.Rect.Dx(), m.Rect.Dy()
	dw, dh := w, h
	if turn > 4 {
		dw, dh = h, w
	}
	d := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range dh {
		for x := range dw {
			sx, sy := stored(turn, x, y, w, h)
			copy(d.Pix[y*d.Stride+4*x:][:4], m.Pix[sy*m.Stride+4*sx:])
		}
	}
	return d
}

// stored is where the pixel seen at x, y is stored in a picture of w × h.
func stored(turn, x, y, w, h int) (sx, sy int) {
	switch turn {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}
