//go:build unix

package main

import (
	"io/fs"
	"os"
	"syscall"
)

// sameOwner gives a file the owner of the one that it replaces, where the system
// lets us: an administrator who replaces somebody's file leaves it theirs.
func sameOwner(path string, old fs.FileInfo) {
	if s, ok := old.Sys().(*syscall.Stat_t); ok {
		os.Chown(path, int(s.Uid), int(s.Gid))
	}
}
