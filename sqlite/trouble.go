package sqlite

import (
	"errors"
	"io/fs"
	"syscall"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// Kind says what is the matter with the file.
type Kind string

// The kinds of trouble that a person can do something about.
const (
	InUse    Kind = "the bench is open in another process: close that one first, or use it"
	Newer    Kind = "the bench was last opened by a newer version of this program: use that version"
	NotOurs  Kind = "the file is not a bench"
	Damaged  Kind = "the file is damaged: restore a backup"
	Altered  Kind = "the file's tables and their rules are not as this program made them, another program changed them: restore a backup"
	Linked   Kind = "the file has a second name (a hard link), by which it could be opened twice: remove that name first"
	Full     Kind = "the disk is full: what was kept before is safe, this was not kept; make room and try again"
	ReadOnly Kind = "the file or its folder cannot be written to: what was kept before is safe, this was not kept"
	Missing  Kind = "there is no such file or folder"
)

// Trouble is a matter with the file that is not our mistake.
type Trouble struct {
	Kind Kind
	Err  error
}

func (t *Trouble) Error() string { return string(t.Kind) }

// Unwrap gives the cause.
func (t *Trouble) Unwrap() error { return t.Err }

// trouble turns what the driver or the system says into a Trouble where it is
// one, and otherwise adds what was being done.
func trouble(doing string, err error) error {
	var known *Trouble
	if err == nil || errors.As(err, &known) {
		return err
	}
	if k := kindOf(err); k != "" {
		return &Trouble{Kind: k, Err: err}
	}
	return wrap(doing, err)
}

func kindOf(err error) Kind {
	var e *driver.Error
	if errors.As(err, &e) {
		switch e.Code() & 0xff { // the low byte is the kind, the rest tells its flavours apart
		case lib.SQLITE_FULL:
			return Full
		case lib.SQLITE_READONLY, lib.SQLITE_CANTOPEN, lib.SQLITE_PERM:
			return ReadOnly
		case lib.SQLITE_CORRUPT:
			return Damaged
		case lib.SQLITE_NOTADB:
			return NotOurs
		}
	}
	switch {
	case errors.Is(err, syscall.ENOSPC):
		return Full
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return ReadOnly
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOTDIR):
		return Missing
	}
	return ""
}

// IsRule says whether err is the schema refusing a row (a unique index, a check
// or a trigger), which is a mistake of the caller's.
func IsRule(err error) bool {
	var e *driver.Error
	return errors.As(err, &e) && e.Code()&0xff == lib.SQLITE_CONSTRAINT
}
