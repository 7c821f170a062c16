package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"

	"knownwater"
)

// replacing is the flag of every command that writes a file.
type replacing struct {
	Force bool `help:"Replace the file that is written, where one stands there already."`
}

// output is one file that a command writes. Every file that any command writes
// goes through here, so that the same holds for all: nothing is replaced unless
// that was asked for, and some things never are; a file is whole or not there.
type output struct {
	path    string
	force   bool
	private bool     // readable by its owner only
	inputs  []string // what the command reads: never replaced, whatever it is called
	bench   bool     // the file is a copy of a bench, so that it may replace one
	stdout  io.Writer
}

func (r replacing) output(e *env, path string, inputs ...string) output {
	o := output{path: path, force: r.Force, inputs: inputs}
	if e != nil {
		o.stdout = e.raw
	}
	return o
}

// toStdout says whether the file goes to standard output, for the name -.
func (o output) toStdout() bool { return o.path == "-" }

// told says where the file is, unless it is what was printed.
func (o output) told(e *env, words ...any) error {
	if o.toStdout() {
		return nil
	}
	_, err := fmt.Fprintln(e.out, words...)
	return err
}

// check says whether the file may be written; asked before the work that fills
// it, and again when it is done.
func (o output) check() error {
	if o.path == "" || o.toStdout() { // none was asked for, or none is written
		return nil
	}
	if of := benchBeside(o.path); of != "" {
		return o.fault("it belongs to the bench %s", "another name", filepath.Base(of))
	}
	info, err := os.Lstat(o.path)
	if errors.Is(err, fs.ErrNotExist) {
		return o.checkFolder()
	}
	if err != nil {
		return o.fault("cannot be written", unwrapped(err))
	}
	switch mode := info.Mode(); {
	case mode&fs.ModeSymlink != 0:
		return o.fault("a link stands there", "another name: links are never written through nor replaced")
	case mode.IsDir():
		return o.fault("a folder stands there", "the name of a file")
	case !mode.IsRegular():
		return o.fault("a device or a pipe stands there", "the name of a file")
	}
	for _, in := range o.inputs {
		if read, err := os.Stat(in); err == nil && os.SameFile(info, read) {
			return o.fault("it is what is read", "another name: an input is never replaced")
		}
	}
	switch {
	case isBench(o.path) && (!o.bench || inUse(o.path)):
		return o.fault("a bench stands there", "another name: a bench is never replaced")
	case !o.force:
		return o.fault("a file stands there already", "another name, or --force to replace it")
	}
	return nil
}

func (o output) checkFolder() error {
	dir := filepath.Dir(o.path)
	info, err := os.Stat(dir)
	if err != nil {
		return o.fault("cannot be written", unwrapped(err))
	}
	if !info.IsDir() {
		return o.fault("cannot be written", "%s is no folder", filepath.Base(dir))
	}
	return nil
}

func (o output) fault(found, want string, values ...any) error {
	return knownwater.Fault{File: o.path, Found: found, Want: want}.Of(values...)
}

// write writes the file.
func (o output) write(fill func(io.Writer) error) error {
	if o.toStdout() { // whole or nothing there, too
		var whole bytes.Buffer
		if err := fill(&whole); err != nil {
			return err
		}
		_, err := o.stdout.Write(whole.Bytes())
		return err
	}
	return o.place(func(path string) error {
		mode := fs.FileMode(0o666) // what the person's mask leaves of it
		if o.private {
			mode = 0o600
		}
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if err != nil {
			return err
		}
		return errors.Join(fill(f), f.Sync(), f.Close())
	})
}

// place lets the file be made in a folder of its own beside its place, and moves
// it there when it is whole: a stop in the middle leaves what was there, and
// nothing else.
func (o output) place(make func(path string) error) error {
	if o.toStdout() {
		return knownwater.Fault{Column: "-", Found: "a bench is made as a file of its own", Want: "the name of a file"}
	}
	if err := o.check(); err != nil || o.path == "" {
		return err
	}
	dir, err := os.MkdirTemp(filepath.Dir(o.path), ".knownwater-*")
	if err != nil {
		return o.fault("cannot be written", unwrapped(err))
	}
	defer undone.add(func() { os.RemoveAll(dir) })()
	part := filepath.Join(dir, filepath.Base(o.path))
	if err := make(part); err != nil {
		var named knownwater.Fault
		var refusal *knownwater.Refusal
		if errors.As(err, &named) || errors.As(err, &refusal) {
			return err
		}
		return fmt.Errorf("writing %s: %w", o.path, err)
	}
	if err := o.check(); err != nil { // it took time: others write, too
		return err
	}
	return o.move(part)
}

// move gives the finished file its name. Without --force the name is taken by a
// link, which fails where something came to stand there meanwhile.
func (o output) move(part string) error {
	old, err := os.Lstat(o.path)
	if err == nil {
		mode := old.Mode().Perm()
		if o.private {
			mode &= 0o600
		}
		if err := os.Chmod(part, mode); err != nil {
			return fmt.Errorf("writing %s: %w", o.path, err)
		}
		sameOwner(part, old)
	}
	if !o.force {
		err := os.Link(part, o.path)
		switch {
		case err == nil:
			return nil
		case errors.Is(err, fs.ErrExist):
			return o.check()
		} // a file system without hard links: it was looked at just now
	}
	if err := os.Rename(part, o.path); err != nil {
		return o.fault("cannot be written", unwrapped(err))
	}
	return nil
}

// benchBeside is the bench to which a file of this name would belong: its log,
// its lock. Empty: none.
func benchBeside(path string) string {
	for _, end := range []string{"-wal", "-shm", "-journal", ".lock"} {
		if of, ok := strings.CutSuffix(path, end); ok && isBench(of) {
			return of
		}
	}
	return ""
}

// isBench looks for the mark of a bench in a file's head: SQLite's word, and the
// application's number at byte 68 (the database file format, sqlite.org/fileformat.html).
// A bench that was killed young may have both still in its log: there the lock that
// stays beside every bench tells.
func isBench(path string) bool {
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	var head [72]byte
	_, err = io.ReadFull(f, head[:])
	if inUse(path) && (err != nil || bytes.HasPrefix(head[:], []byte("SQLite format 3\x00"))) {
		return true
	}
	return err == nil && bytes.HasPrefix(head[:], []byte("SQLite format 3\x00")) && string(head[68:]) == "knwt"
}

// inUse says whether a file was ever opened as a bench: its lock stays beside it.
func inUse(path string) bool {
	_, err := os.Lstat(path + ".lock")
	return err == nil
}

// undone is what has to be undone where the program must end at once: folders of
// files that are being written, a terminal that shows no letters.
var undone undoing

type undoing struct {
	mu   sync.Mutex
	next int
	all  map[int]func()
}

// add notes what is to be undone, and gives what does it now.
func (u *undoing) add(undo func()) (now func()) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if u.all == nil {
		u.all = map[int]func(){}
	}
	u.next++
	at := u.next
	u.all[at] = undo
	return func() {
		undo()
		u.mu.Lock()
		defer u.mu.Unlock()
		delete(u.all, at)
	}
}

func (u *undoing) run() {
	u.mu.Lock()
	defer u.mu.Unlock()
	for _, undo := range u.all {
		undo()
	}
}
