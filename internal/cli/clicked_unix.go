//go:build !windows

package cli

import "os"

// clickedFiles: a desktop starts programs with nothing to read from, and its
// journal or nothing to write to. A command line that sends its output
// elsewhere still has a terminal to read from; what runs without a desktop, as
// at night or in a test, is not meant either, nor is what reads from a file or
// writes to one.
func clickedFiles(in, out *os.File, env func(string) string) bool {
	if env("DISPLAY") == "" && env("WAYLAND_DISPLAY") == "" {
		return false
	}
	return isNull(in) && (isNull(out) || isSocket(out))
}

func isSocket(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeSocket != 0
}
