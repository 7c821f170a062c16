package main

import (
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

const (
	fewReadings = "method,level,reading\nMeter,0,0.1\nMeter,0,0.2\nMeter,5,5.1\nMeter,5,4.8\nMeter,10,10.2\nMeter,10,9.7\n"
	fewPoints   = "level,signal\n0,0.002\n0,0.003\n2,0.101\n2,0.103\n4,0.201\n4,0.204\n8,0.401\n8,0.405\n"
)

// writers are all commands that write a file of which the person says the name.
func writers(t *testing.T, dir string) map[string]func(to string, more ...string) []string {
	at := func(name string) string { return filepath.Join(dir, name) }
	for name, text := range map[string]string{"readings.csv": fewReadings, "points.csv": fewPoints} {
		put(t, at(name), text, 0o644)
	}
	ran(t, exitDone, "curve", "fit", at("points.csv"), "--out", at("curve.json"))
	script, err := txtar.ParseFile("testdata/known/plan.txtar")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range script.Files {
		put(t, at(f.Name), string(f.Data), 0o644)
	}
	ran(t, exitDone, "known", "plan", at("shelf.toml"), "0", "12", "--out", at("prepared.toml"))
	makeBench(t, at("bench.db"))
	ran(t, exitDone, "assess", at("readings.csv"), "--html", at("report-to-pack.html"))
	args := func(before ...string) func(string, ...string) []string {
		return func(to string, more ...string) []string {
			return append(append(append([]string{}, before...), to), more...)
		}
	}
	return map[string]func(string, ...string) []string{
		"assess":        args("assess", at("readings.csv"), "--html"),
		"figures":       args("assess", at("readings.csv"), "--figures"),
		"curve fit":     args("curve", "fit", at("points.csv"), "--out"),
		"curve recheck": args("curve", "recheck", at("curve.json"), "--blank", "0.002", "--known", "4=0.222", "--known", "8=0.442", "--out"),
		"known plan":    args("known", "plan", at("shelf.toml"), "0", "12", "--out"),
		"known value":   args("known", "value", at("shelf.toml"), at("prepared.toml"), "--draws", "0", "--csv"),
		"known sheet":   args("known", "sheet", at("shelf.toml"), at("prepared.toml"), "--html"),
		"backup":        args("backup", at("bench.db")),
		"export":        args("export", at("bench.db")),
		"pack":          args("pack", at("report-to-pack.html"), "--licence", "CC0-1.0", "--out"),
	}
}

func makeBench(t *testing.T, path string) {
	t.Helper()
	_, _, end := serving(t, "--bench", path, "--listen", "127.0.0.1:0")
	end()
}

func put(t *testing.T, path, text string, mode os.FileMode) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), mode); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, mode); err != nil {
		t.Fatal(err)
	}
}

func ran(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out lines
	if got := run(context.Background(), args, strings.NewReader(""), &out, &out); got != want {
		t.Errorf("%v ends with %d, want %d: %s", args, got, want, &out)
	}
	return out.String()
}

// files are all names in a folder, to see that nothing was left behind.
func filesIn(t *testing.T, dir string) string {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range list {
		names = append(names, f.Name())
	}
	return strings.Join(names, " ")
}

func TestOutputsNeverReplace(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("links and permissions are others there")
	}
	src := t.TempDir()
	for name, command := range writers(t, src) {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			at := func(name string) string { return filepath.Join(dir, name) }
			put(t, at("there"), "mine", 0o600)
			for _, link := range []string{"link", "dangling"} {
				to := at("there")
				if link == "dangling" {
					to = at("nowhere")
				}
				if err := os.Symlink(to, at(link)); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.Mkdir(at("folder"), 0o755); err != nil {
				t.Fatal(err)
			}
			input := ""
			for _, a := range command("") {
				if strings.HasPrefix(a, src) {
					input = a
				}
			}
			if err := os.Link(input, at("hard")); err != nil {
				t.Skip("no hard links between these folders:", err)
			}
			makeBench(t, at("other.db"))
			before, _ := os.ReadFile(input)
			names := filesIn(t, dir)

			ran(t, exitRefused, command(at("there"))...)
			for _, never := range []string{at("link"), at("dangling"), at("folder"), at("hard"), input, os.DevNull, at("other.db"), at("other.db-wal"), at("nowhere/x")} {
				for _, force := range [][]string{nil, {"--force"}} {
					if got := ran(t, exitRefused, command(never, force...)...); !strings.Contains(got, filepath.Base(never)) {
						t.Errorf("%s: the refusal names no file: %s", never, got)
					}
				}
			}
			if got := filesIn(t, dir); got != names {
				t.Errorf("refusals left\n%s\nwas\n%s", got, names)
			}
			if b, _ := os.ReadFile(at("there")); string(b) != "mine" {
				t.Error("a file was replaced")
			}
			if after, _ := os.ReadFile(input); string(after) != string(before) {
				t.Error("the input was replaced")
			}
			if info, err := os.Stat(os.DevNull); err != nil || info.Mode().IsRegular() {
				t.Fatal("the null device is a file")
			}

			os.Remove(at("hard")) // a bench with a second name is not opened
			names = strings.Replace(names, "hard ", "", 1)
			ran(t, exitDone, command(at("there"), "--force")...)
			ran(t, exitDone, command(at("fresh"))...)
			if b, _ := os.ReadFile(at("there")); string(b) == "mine" {
				t.Error("--force replaced nothing")
			}
			if info, _ := os.Stat(at("there")); info.Mode().Perm() != 0o600 {
				t.Errorf("a replaced file has mode %v, had 0600", info.Mode())
			}
			want := os.FileMode(0o644)
			if name == "backup" || name == "export" {
				want = 0o600
			}
			if info, _ := os.Stat(at("fresh")); info.Mode().Perm()&^want != 0 {
				t.Errorf("a new file has mode %v, want %v at most", info.Mode(), want)
			}
			if got := filesIn(t, dir); got != strings.Replace(names, "folder", "folder fresh", 1) && !strings.Contains(got, "fresh") {
				t.Errorf("left behind: %s", got)
			} else if strings.Contains(got, ".knownwater") {
				t.Errorf("left behind: %s", got)
			}
		})
	}
}

func TestDemoAgain(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shed")
	ran(t, exitDone, "demo", "--no-serve", "--dir", dir)
	stamp := func() string {
		var s string
		for _, n := range []string{"readings.csv", "report.html", "truth.json"} {
			info, err := os.Stat(filepath.Join(dir, n))
			if err != nil {
				t.Fatal(err)
			}
			s += info.ModTime().String()
		}
		return s
	}
	was := stamp()
	ran(t, exitDone, "demo", "--no-serve", "--dir", dir)
	if stamp() != was {
		t.Error("unchanged files were written again")
	}
	if got := ran(t, exitRefused, "demo", "--no-serve", "--dir", dir, "--seed", "2"); !strings.Contains(got, "--force") {
		t.Errorf("says %s", got)
	}
	put(t, filepath.Join(dir, "need.toml"), "# mine\n", 0o640)
	ran(t, exitRefused, "demo", "--no-serve", "--dir", dir)
	if b, _ := os.ReadFile(filepath.Join(dir, "need.toml")); string(b) != "# mine\n" {
		t.Error("a changed file was replaced")
	}
	ran(t, exitDone, "demo", "--no-serve", "--dir", dir, "--force")
	if info, _ := os.Stat(filepath.Join(dir, "need.toml")); info.Mode().Perm() != 0o640 {
		t.Errorf("mode %v", info.Mode())
	}
	put(t, filepath.Join(dir, "report.html"), "my page", 0o644)
	ran(t, exitRefused, "demo", "--no-serve", "--dir", dir)
	if strings.Contains(filesIn(t, dir), ".knownwater") {
		t.Error("left behind:", filesIn(t, dir))
	}
}
