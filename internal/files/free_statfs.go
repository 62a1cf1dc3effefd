//go:build linux || darwin

package files

import (
	"math/bits"
	"syscall"
)

// Free is statfs(2): blocks open to this user.
func (OSDisk) Free(path string) (int64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(path, &s); err != nil {
		return 0, err
	}
	high, low := bits.Mul64(s.Bavail, uint64(s.Bsize))
	if high > 0 {
		low = 1 << 63
	}
	return clampInt64(low), nil
}
