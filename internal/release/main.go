// Command release makes what is handed out: the program for each system in an archive
// with the licences of what it is built with, and a list of checksums. The same commit,
// built anywhere by the same Go, gives the same bytes.
//
//	go run ./internal/release -out dist                  all systems
//	go run ./internal/release -out dist -only linux/amd64
package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// targets are the systems that the program is made for. linux/arm is ARMv7.
var targets = []string{"linux/amd64", "linux/arm64", "linux/arm", "darwin/amd64", "darwin/arm64", "windows/amd64", "windows/arm64"}

func main() {
	out := flag.String("out", "dist", "folder for the archives")
	only := flag.String("only", "", "one system, such as linux/arm64")
	flag.Parse()
	list := targets
	if *only != "" {
		list = []string{*only}
	}
	if err := release(*out, list); err != nil {
		fmt.Fprintln(os.Stderr, "release:", err)
		os.Exit(1)
	}
}

var versionLine = regexp.MustCompile(`(?m)^var version = "([^"]+)"`)

func release(out string, list []string) error {
	source, err := os.ReadFile("cmd/knownwater/version.go")
	if err != nil {
		return err
	}
	m := versionLine.FindSubmatch(source)
	if m == nil {
		return errors.New("cmd/knownwater/version.go names no version")
	}
	made, err := committed()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	var sums []string
	for _, target := range list {
		name, err := archive(out, string(m[1]), target, made)
		if err != nil {
			return fmt.Errorf("%s: %w", target, err)
		}
		data, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			return err
		}
		sums = append(sums, fmt.Sprintf("%x  %s\n", sha256.Sum256(data), name))
		fmt.Printf("%-45s %5.1f MB\n", name, float64(len(data))/1e6)
	}
	slices.Sort(sums)
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(strings.Join(sums, "")), 0o644)
}

// committed is the time of the commit: the only time that stands in an archive.
func committed() (time.Time, error) {
	text, err := exec.Command("git", "log", "-1", "--format=%ct").Output()
	if err != nil {
		return time.Time{}, fmt.Errorf("time of the commit: %w", err)
	}
	s, err := strconv.ParseInt(strings.TrimSpace(string(text)), 10, 64)
	return time.Unix(s, 0).UTC(), err
}

// packed is a file of an archive.
type packed struct {
	name string
	mode int64
	data []byte
}

// beside are the files of the repository that go with every binary.
var beside = []string{"LICENSE", "NOTICE", "README.md", "CHANGELOG.md", "tools/knownwater.service", "tools/Containerfile"}

func archive(out, version, target string, made time.Time) (string, error) {
	system, processor, _ := strings.Cut(target, "/")
	program := "knownwater"
	if system == "windows" {
		program += ".exe"
	}
	binary, err := build(system, processor)
	if err != nil {
		return "", err
	}
	files := []packed{{program, 0o755, binary}}
	for _, name := range beside {
		data, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		files = append(files, packed{filepath.Base(name), 0o644, data})
	}
	licences, err := licences(system, processor)
	if err != nil {
		return "", err
	}
	files = append(files, packed{"LICENCES.txt", 0o644, licences})
	folder := fmt.Sprintf("knownwater-%s-%s-%s", version, system, processor)
	name, write := folder+".tar.gz", writeTar
	if system == "windows" {
		name, write = folder+".zip", writeZip
	}
	f, err := os.Create(filepath.Join(out, name))
	if err != nil {
		return "", err
	}
	return name, errors.Join(write(f, folder, files, made), f.Close())
}

func environment(system, processor string) []string {
	return append(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+processor, "GOARM=7", "GOAMD64=v1", "GOFLAGS=")
}

// build makes the program without anything of this machine in it: no path, no build id.
// Zones of time are in it, for containers that have none.
func build(system, processor string) ([]byte, error) {
	dir, err := os.MkdirTemp("", "release")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	to := filepath.Join(dir, "knownwater")
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=true", "-tags", "timetzdata", "-ldflags", "-s -w -buildid=", "-o", to, "./cmd/knownwater")
	cmd.Env, cmd.Stderr = environment(system, processor), os.Stderr
	if err := cmd.Run(); err != nil {
		return nil, err
	}
	return os.ReadFile(to)
}

var isLicence = regexp.MustCompile(`(?i)^(licen[cs]e|copying|notice|patents|third_party)`)

// licences are those of all modules that a build holds, and Go's own.
func licences(system, processor string) ([]byte, error) {
	cmd := exec.Command("go", "list", "-deps", "-json=Module", "./cmd/knownwater")
	cmd.Env, cmd.Stderr = environment(system, processor), os.Stderr
	listed, err := cmd.Output()
	if err != nil {
		return nil, err
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	dirs := map[string]string{"Go, its library and its runtime": strings.TrimSpace(string(root))}
	for dec := json.NewDecoder(bytes.NewReader(listed)); ; {
		var p struct {
			Module *struct{ Path, Version, Dir string }
		}
		if err := dec.Decode(&p); err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		if p.Module != nil && p.Module.Version != "" {
			dirs[p.Module.Path+" "+p.Module.Version] = p.Module.Dir
		}
	}
	var all bytes.Buffer
	names := make([]string, 0, len(dirs))
	for name := range dirs {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		entries, err := os.ReadDir(dirs[name])
		if err != nil {
			return nil, err
		}
		found := false
		for _, e := range entries {
			if e.IsDir() || !isLicence.MatchString(e.Name()) {
				continue
			}
			text, err := os.ReadFile(filepath.Join(dirs[name], e.Name()))
			if err != nil {
				return nil, err
			}
			found = true
			fmt.Fprintf(&all, "==== %s: %s\n\n%s\n\n", name, e.Name(), strings.TrimSpace(string(text)))
		}
		if !found && !strings.HasPrefix(name, "Go,") { // some systems keep Go's licence elsewhere
			return nil, fmt.Errorf("no licence in %s", name)
		}
	}
	return all.Bytes(), nil
}

func writeTar(w io.Writer, folder string, files []packed, made time.Time) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	t := tar.NewWriter(z)
	for _, f := range files {
		if err := t.WriteHeader(&tar.Header{Name: folder + "/" + f.name, Mode: f.mode, Size: int64(len(f.data)), ModTime: made, Format: tar.FormatUSTAR}); err != nil {
			return err
		}
		if _, err := t.Write(f.data); err != nil {
			return err
		}
	}
	return errors.Join(t.Close(), z.Close())
}

func writeZip(w io.Writer, folder string, files []packed, made time.Time) error {
	z := zip.NewWriter(w)
	for _, f := range files {
		h := &zip.FileHeader{Name: folder + "/" + f.name, Method: zip.Deflate, Modified: made}
		h.SetMode(os.FileMode(f.mode))
		to, err := z.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := to.Write(f.data); err != nil {
			return err
		}
	}
	return z.Close()
}
