//go:build unix

package files

import (
	"errors"
	"os"
	"syscall"
)

// SyncDir is fsync(2) of the directory.
func (OSDisk) SyncDir(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	err = d.Sync()
	return errors.Join(err, d.Close())
}

func lockFile(f *os.File, alone bool) error {
	how := syscall.LOCK_SH
	if alone {
		how = syscall.LOCK_EX
	}
	for {
		err := syscall.Flock(int(f.Fd()), how|syscall.LOCK_NB)
		switch {
		case errors.Is(err, syscall.EINTR):
		case errors.Is(err, syscall.EWOULDBLOCK):
			return errLocked
		default:
			return err
		}
	}
}

// What a full disk and one that may not be written to answer.
var (
	fullErrors     = []error{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG}
	readOnlyErrors = []error{syscall.EROFS, syscall.EACCES, syscall.EPERM}
)
