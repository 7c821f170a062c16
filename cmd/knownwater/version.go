package main

import (
	"fmt"
	"runtime"
	"runtime/debug"

	"knownwater/bench/exchange"
)

// version is written into every finding; the linker may set it. A page can only be
// made again byte for byte by the version that made it: whatever changes a page
// or a number and is released counts it up.
var version = "0.21"

// versionCmd says which program this is.
type versionCmd struct {
	JSON bool `name:"json" help:"Print one JSON object."`
}

// built is what the program knows about its own making.
type built struct {
	Version  string  `json:"version"`
	Revision *string `json:"revision"` // null: not built from a repository
	Changed  bool    `json:"changed"`  // files differed from that revision
	Time     *string `json:"time"`     // of the revision
	Go       string  `json:"go"`
	For      string  `json:"for"`
	Schema   int     `json:"schema"` // of the benches that it writes; it opens all from 1 up to it
}

func (c *versionCmd) Run(e *env) error {
	b := builtFrom(debug.ReadBuildInfo())
	if c.JSON {
		return writeJSON(e.out, b)
	}
	fmt.Fprintf(e.out, "knownwater %s\n", b.Version)
	switch {
	case b.Revision == nil:
		fmt.Fprintln(e.out, "built outside a repository")
	case b.Changed:
		fmt.Fprintf(e.out, "built from %s of %s, with changes\n", *b.Revision, *b.Time)
	default:
		fmt.Fprintf(e.out, "built from %s of %s\n", *b.Revision, *b.Time)
	}
	fmt.Fprintf(e.out, "for %s, with %s\nopens benches of every version up to schema %d\n", b.For, b.Go, b.Schema)
	return nil
}

func builtFrom(info *debug.BuildInfo, ok bool) built {
	b := built{Version: version, Go: runtime.Version(), For: runtime.GOOS + "/" + runtime.GOARCH, Schema: exchange.Schema()}
	if !ok {
		return b
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Revision = &s.Value
		case "vcs.time":
			b.Time = &s.Value
		case "vcs.modified":
			b.Changed = s.Value == "true"
		}
	}
	if b.Time == nil {
		b.Revision = nil
	}
	return b
}
