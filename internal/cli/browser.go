package cli

import (
	"os/exec"
	"runtime"
)

// openBrowser asks the system to show an address; whether it does is not
// waited for.
func openBrowser(address string) {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	cmd := exec.Command(name, args...)
	if cmd.Start() == nil {
		go cmd.Wait()
	}
}
