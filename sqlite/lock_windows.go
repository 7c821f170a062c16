package sqlite

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile takes the lock or says that somebody else has it. The system lets it
// go when the process ends, however it ends. The file itself stays.
func lockFile(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, trouble("lock the bench", err)
	}
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err = windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, new(windows.Overlapped))
	if err == nil {
		return f, nil
	}
	f.Close()
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return nil, &Trouble{Kind: InUse, Err: err}
	}
	return nil, trouble("lock the bench", err)
}

// namesOf is how many names a file has.
func namesOf(path string) uint64 {
	f, err := os.Open(path)
	if err != nil {
		return 0
	}
	defer f.Close()
	var info windows.ByHandleFileInformation
	if windows.GetFileInformationByHandle(windows.Handle(f.Fd()), &info) != nil {
		return 1
	}
	return uint64(info.NumberOfLinks)
}
