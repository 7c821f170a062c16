package docstest

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// outcome is what a command printed, and a copy of the folder as it left it.
type outcome struct {
	sync.Once
	printed, left string
}

var outcomes = struct {
	sync.Mutex
	of map[string]*outcome // by the command and what its folder held
}{of: map[string]*outcome{}}

// once runs a command of ours in a folder; where it ran before in one that held the same, as
// pages begin alike, what it printed and left is there again.
func once(t *testing.T, dir, command string, run func() string) string {
	t.Helper()
	name, err := built()
	if err != nil {
		t.Fatal(err)
	}
	key := command + digest(t, dir)
	outcomes.Lock()
	o := outcomes.of[key]
	if o == nil {
		o = &outcome{}
		outcomes.of[key] = o
	}
	outcomes.Unlock()
	first := false
	o.Do(func() {
		first, o.printed = true, run()
		if o.left, err = os.MkdirTemp(filepath.Dir(name), "left"); err == nil {
			err = os.CopyFS(o.left, os.DirFS(dir))
		}
	})
	if err == nil && !first {
		if err = os.RemoveAll(dir); err == nil {
			err = os.CopyFS(dir, os.DirFS(o.left))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return o.printed
}

// digest tells folders apart that do not hold the same.
func digest(t *testing.T, dir string) string {
	t.Helper()
	sum := sha256.New()
	err := fs.WalkDir(os.DirFS(dir), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(filepath.Join(dir, path))
		fmt.Fprintf(sum, "%q %q", path, text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return string(sum.Sum(nil))
}
