//go:build unix

package sqlite

import (
	"errors"
	"os"
	"syscall"
)

// lockFile takes the lock or says that somebody else has it. The kernel lets it
// go when the process ends, however it ends. The file itself stays.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, trouble("lock the bench", err)
	}
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if err == nil {
		return f, nil
	}
	f.Close()
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, &Trouble{Kind: InUse, Err: err}
	}
	return nil, trouble("lock the bench", err)
}

// namesOf is how many names a file has.
func namesOf(path string) uint64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return uint64(s.Nlink)
	}
	return 1
}
