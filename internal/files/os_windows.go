package files

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// SyncDir does nothing: Windows syncs no directories; NTFS journals them.
func (OSDisk) SyncDir(string) error { return nil }

func lockFile(f *os.File, alone bool) error {
	flags := uint32(windows.LOCKFILE_FAIL_IMMEDIATELY)
	if alone {
		flags |= windows.LOCKFILE_EXCLUSIVE_LOCK
	}
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, new(windows.Overlapped))
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errLocked
	}
	return err
}

// Free asks for what this user may still write.
func (OSDisk) Free(path string) (int64, error) {
	p, err := windows.UTF16PtrFromString(path)
	if err != nil {
		return 0, err
	}
	var free uint64
	if err := windows.GetDiskFreeSpaceEx(p, &free, nil, nil); err != nil {
		return 0, err
	}
	return clampInt64(free), nil
}

// What a full disk and one that may not be written to answer.
var (
	fullErrors     = []error{windows.ERROR_DISK_FULL, windows.ERROR_HANDLE_DISK_FULL, windows.ERROR_DISK_QUOTA_EXCEEDED}
	readOnlyErrors = []error{windows.ERROR_WRITE_PROTECT, windows.ERROR_ACCESS_DENIED}
)
