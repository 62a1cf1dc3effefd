package sound

// Check sums of FLAC (RFC 9639 §9.1.8, §9.3) and Ogg (RFC 3533 §6), all
// without reflection, beginning at 0 and not inverted at the end.
var (
	crc8Table  = makeCRC8(0x07)
	crc16Table = makeCRC16(0x8005)
	oggTable   = makeCRC32(0x04C11DB7)
)

func makeCRC8(poly uint8) (t [256]uint8) {
	for i := range t {
		c := uint8(i)
		for range 8 {
			c = c<<1 ^ poly*(c>>7)
		}
		t[i] = c
	}
	return t
}

// makeCRC16 gives eight tables, so that eight bytes are taken at once:
// t[j][b] is what byte b does when j more bytes follow it.
func makeCRC16(poly uint16) (t [8][256]uint16) {
	for i := range t[0] {
		c := uint16(i) << 8
		for range 8 {
			c = c<<1 ^ poly*(c>>15)
		}
		t[0][i] = c
	}
	for j := 1; j < len(t); j++ {
		for i := range t[j] {
			c := t[j-1][i]
			t[j][i] = c<<8 ^ t[0][c>>8]
		}
	}
	return t
}

func makeCRC32(poly uint32) (t [256]uint32) {
	for i := range t {
		c := uint32(i) << 24
		for range 8 {
			c = c<<1 ^ poly*(c>>31)
		}
		t[i] = c
	}
	return t
}

func crc8(b []byte) uint8 {
	var c uint8
	for _, x := range b {
		c = crc8Table[c^x]
	}
	return c
}

func crc16(b []byte) uint16 {
	var c uint16
	t := &crc16Table
	for ; len(b) >= 8; b = b[8:] {
		c = t[7][b[0]^byte(c>>8)] ^ t[6][b[1]^byte(c)] ^ t[5][b[2]] ^ t[4][b[3]] ^
			t[3][b[4]] ^ t[2][b[5]] ^ t[1][b[6]] ^ t[0][b[7]]
	}
	for _, x := range b {
		c = c<<8 ^ t[0][byte(c>>8)^x]
	}
	return c
}

func oggCRC(c uint32, b []byte) uint32 {
	for _, x := range b {
		c = c<<8 ^ oggTable[byte(c>>24)^x]
	}
	return c
}
