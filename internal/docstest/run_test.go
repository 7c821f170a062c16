package docstest

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

var update = flag.Bool("update", false, "write the numbers, excerpts and figures of the documents anew")

const root = "../.."

// built is the program, built once when a test first asks for it.
var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "knownwater-docs")
	if err != nil {
		return "", err
	}
	builtIn = dir
	name := filepath.Join(dir, "knownwater")
	build := exec.Command("go", "build", "-o", name, "./cmd/knownwater")
	build.Dir, build.Stderr = root, os.Stderr
	return name, build.Run()
})

var builtIn string // the folder to remove in the end

func TestMain(m *testing.M) {
	status := m.Run()
	if builtIn != "" {
		os.RemoveAll(builtIn)
	}
	os.Exit(status)
}

// knownwater runs the program in a folder and gives what it printed.
func knownwater(t *testing.T, dir string, args ...string) string {
	t.Helper()
	command := strings.Join(append([]string{"knownwater"}, args...), " ")
	return once(t, dir, command, func() string {
		name, _ := built()
		cmd := exec.Command(name, args...)
		var out, errOut bytes.Buffer
		cmd.Dir, cmd.Stdout, cmd.Stderr = dir, &out, &errOut
		if err := cmd.Run(); err != nil {
			t.Fatalf("%s: %v\n%s", command, err, errOut.String())
		}
		return out.String()
	})
}

// demoRun is one run of the demo: its words, short and in full, its findings, its truth, its page.
type demoRun struct {
	text     string
	findings any
	truth    any
	page     string
}

var demoOnce struct {
	sync.Once
	run demoRun
}

func theDemo(t *testing.T) demoRun {
	t.Helper()
	demoOnce.Do(func() {
		dir := t.TempDir()
		r := demoRun{text: knownwater(t, dir, "demo", "--dir", "shed", "--no-serve")}
		in := func(name string) string { return filepath.Join("shed", name) }
		assess := []string{"assess", in("readings.csv"), "--methods", in("methods.toml"), "--need", in("need.toml")}
		r.text += knownwater(t, dir, append(assess, "--full")...)
		decode(t, []byte(knownwater(t, dir, append(assess, "--json")...)), &r.findings)
		decode(t, []byte(read(t, filepath.Join(dir, in("truth.json")))), &r.truth)
		r.page = read(t, filepath.Join(dir, in("report.html")))
		demoOnce.run = r
	})
	if demoOnce.run.text == "" {
		t.Fatal("the demo did not run")
	}
	return demoOnce.run
}

func decode(t *testing.T, data []byte, to any) {
	t.Helper()
	if err := json.Unmarshal(data, to); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// documents are README and the pages of docs/, by their path from the root.
func documents(t *testing.T) []string {
	t.Helper()
	pages, err := filepath.Glob(filepath.Join(root, "docs", "*.md"))
	if err != nil || len(pages) == 0 {
		t.Fatal("no documents", err)
	}
	return append(pages, filepath.Join(root, "README.md"))
}
