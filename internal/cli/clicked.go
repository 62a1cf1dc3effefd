package cli

import (
	"io"
	"os"
)

// clicked tells whether the program was started by a double click: on Windows
// that has a window of its own for it, elsewhere a desktop but no terminal. In
// doubt it was not, and help is given.
func clicked(stdin io.Reader, stdout io.Writer) bool {
	in, ok := stdin.(*os.File)
	if !ok {
		return false
	}
	out, ok := stdout.(*os.File)
	return ok && clickedFiles(in, out, os.Getenv)
}

// isNull tells whether f is the system's nothing, which looks like a terminal.
func isNull(f *os.File) bool {
	null, err := os.Stat(os.DevNull)
	if err != nil {
		return false
	}
	info, err := f.Stat()
	return err == nil && os.SameFile(null, info)
}
