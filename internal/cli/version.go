package cli

import (
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCmd struct {
	JSON bool `help:"Print one JSON object."`
}

// build is what the program knows of its own making.
type build struct {
	Version  string `json:"version"`
	Revision string `json:"revision,omitempty"`
	Modified bool   `json:"modified,omitempty"`
	Go       string `json:"go"`
	System   string `json:"system"`
}

func thisBuild() build {
	b := build{Version: "unknown", Go: runtime.Version(), System: runtime.GOOS + "/" + runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	b.Version = info.Main.Version
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = s.Value
		case "vcs.modified":
			b.Modified = s.Value == "true"
		}
	}
	return b
}

func (b build) String() string {
	revision := "revision unknown"
	if b.Revision != "" {
		revision = "revision " + b.Revision[:min(12, len(b.Revision))]
	}
	if b.Modified {
		revision += " with changes"
	}
	return fmt.Sprintf("beatwright %s, %s, %s %s", b.Version, revision, b.Go, b.System)
}

func (c *versionCmd) run(s *session) error {
	b := thisBuild()
	if c.JSON {
		return json.NewEncoder(s.stdout).Encode(b)
	}
	_, err := fmt.Fprintln(s.stdout, b)
	return err
}
