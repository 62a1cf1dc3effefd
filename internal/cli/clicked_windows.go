package cli

import (
	"os"
	"unsafe"

	"golang.org/x/sys/windows"
)

var consoleProcesses = windows.NewLazySystemDLL("kernel32.dll").NewProc("GetConsoleProcessList")

// clickedFiles: a program started from a command line shares its window with
// the shell; one that was double clicked is alone in it.
func clickedFiles(in, out *os.File, _ func(string) string) bool {
	if isNull(in) || isNull(out) || consoleProcesses.Find() != nil {
		return false
	}
	var ids [2]uint32
	n, _, _ := consoleProcesses.Call(uintptr(unsafe.Pointer(&ids[0])), uintptr(len(ids)))
	return n == 1
}
