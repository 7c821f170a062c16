package report

import (
	"archive/zip"
	"bytes"
	"errors"
	"image/png"
	"io"
	"strings"
	"testing"

	"knownwater"
	"knownwater/science/assess"
)

func packed1(t *testing.T) (pack, page []byte) {
	t.Helper()
	f, trial := fixture()
	in := fixtureInputs()
	page = []byte(wholePage(t, f, trial, in))
	var out bytes.Buffer
	if err := WritePack(&out, Pack{Page: page, Inputs: in, Findings: f, Trial: trial, Title: "=1+1 <b>", Author: "Shed", Licence: "CC-BY-4.0"}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes(), page
}

// A pack holds everything that it promises, opens as the page in it, and says so when a byte
// of it is another.
func TestPack(t *testing.T) {
	pack, page := packed1(t)
	z, err := zip.NewReader(bytes.NewReader(pack), int64(len(pack)))
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, f := range z.File {
		r, _ := f.Open()
		files[f.Name], _ = io.ReadAll(r)
	}
	for _, name := range []string{"README.txt", "LICENCE.txt", "report.html", "readings.csv", "methods.toml", "need.toml", "key.csv", "plan.json", "versions.json", "dictionary.md",
		"summary.txt", "summary.html", "summary-wide.svg", "summary-wide.png", "summary-square.svg", "summary-square.png", "checksums.txt"} {
		if len(files[name]) == 0 {
			t.Errorf("no %s", name)
		}
	}
	for name, want := range map[string][2]int{"summary-wide.png": {1200, 676}, "summary-square.png": {1200, 1200}} {
		if c, err := png.DecodeConfig(bytes.NewReader(files[name])); err != nil || c.Width != want[0] || c.Height != want[1] {
			t.Errorf("%s: %v, %v", name, c, err)
		}
	}
	if s := string(files["summary.html"]); strings.Contains(s, "<b>") || !strings.Contains(s, "By Shed, CC-BY-4.0") {
		t.Errorf("%.300s", s)
	}
	inside, err := Open(bytes.NewReader(pack))
	if err != nil {
		t.Fatal(err)
	}
	alone, err := Open(bytes.NewReader(page))
	if err != nil || !bytes.Equal(inside.page, alone.page) {
		t.Error("the page in the pack is another")
	}

	change := func(what func(name string, data []byte) (string, []byte)) []byte {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		for _, f := range z.File {
			name, data := what(f.Name, bytes.Clone(files[f.Name]))
			if name == "" {
				continue
			}
			x, _ := w.Create(name)
			x.Write(data)
		}
		w.Close()
		return out.Bytes()
	}
	for name, bad := range map[string][]byte{
		"readings.csv is not what its checksum says": change(func(name string, data []byte) (string, []byte) {
			if name == "readings.csv" {
				data[len(data)-3]++
			}
			return name, data
		}),
		"holds no report.html": change(func(name string, data []byte) (string, []byte) {
			if name == "report.html" {
				name = ""
			}
			return name, data
		}),
		"no checksum of report.html": change(func(name string, data []byte) (string, []byte) {
			if name == "checksums.txt" {
				lines := strings.SplitAfter(string(data), "\n")
				data = []byte(strings.Join(append(lines[:2:2], lines[3:]...), ""))
			}
			return name, data
		}),
		"cannot be read": pack[:len(pack)/2],
	} {
		_, err := Open(bytes.NewReader(bad))
		var f knownwater.Fault
		if !errors.As(err, &f) || !strings.Contains(f.Found, name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestPackRefusesOtherLicences(t *testing.T) {
	if err := WritePack(io.Discard, Pack{Licence: "mine"}); err == nil {
		t.Error("a licence that nobody knows")
	}
}

func wholePage(t *testing.T, f assess.Findings, trial knownwater.Trial, in Inputs) string {
	return page(t, f, trial, in)
}

// The summary of every case, hostile ones too, is a figure that can be painted, a page and a text.
func TestSummaryOfEveryCase(t *testing.T) {
	for name, of := range cases() {
		f, trial := of()
		s := SummaryOf(f, trial, "A trial", "By us")
		for shape, height := range PosterShapes {
			p := Poster(f, trial, "A trial", "By us", height)
			wellFormed(t, name+" "+shape, PosterSVG(p))
			if err := PosterPNG(io.Discard, p); err != nil {
				t.Errorf("%s %s: %v", name, shape, err)
			}
		}
		if text := s.Text(); strings.Contains(text, "<nil>") || strings.Contains(text, "NaN") || strings.Contains(text, "\x00") {
			t.Errorf("%s: %.300s", name, text)
		}
		if len(s.HTML("<svg ></svg>")) < 500 {
			t.Errorf("%s: no page", name)
		}
		if k := keyCSV(trial); !bytes.HasPrefix(k, []byte("vial,method,")) {
			t.Errorf("%s: %.100s", name, k)
		}
		PlanOf(trial)
	}
}
