package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"knownwater"
)

func TestExtractGivesBackEveryByte(t *testing.T) {
	for name, make := range cases() {
		f, trial := make()
		in := fixtureInputs()
		in.Readings.Name = strings.NewReplacer("/", "").Replace(hostile)
		got, g, err := Extract(strings.NewReader(page(t, f, trial, in)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !reflect.DeepEqual(got, in) {
			t.Errorf("%s: %+v came back as %+v", name, in, got)
		}
		if d, err := Compare(f, g, 17); err != nil || len(d) > 0 {
			t.Errorf("%s: %v %v", name, d, err)
		}
	}
}

func TestPagesTellNoFolders(t *testing.T) {
	f, trial := fixture()
	for _, name := range []string{"/home/someone/trial/readings.csv", `C:\\Users\\someone\\readings.csv`} {
		p := page(t, f, trial, Inputs{Readings: File{Name: name}})
		got, _, err := Extract(strings.NewReader(p))
		if err != nil || got.Readings.Name != "readings.csv" || strings.Contains(p, "someone") {
			t.Errorf("%s became %s (%v)", name, got.Readings.Name, err)
		}
	}
}

func TestExtractWithoutMethodsAndNeed(t *testing.T) {
	f, trial := fixture()
	in := Inputs{Readings: File{"r.csv", []byte("x")}}
	got, _, err := Extract(strings.NewReader(page(t, f, trial, in)))
	if err != nil || !reflect.DeepEqual(got, in) {
		t.Errorf("%+v %v", got, err)
	}
}

func TestExtractRefusesWhatIsNoReport(t *testing.T) {
	f, trial := fixture()
	good := page(t, f, trial, fixtureInputs())
	at := strings.Index(good, `id="knownwater-inputs"`)
	for _, c := range []struct{ name, page, says string }{
		{"empty", "", "holds no knownwater-findings"},
		{"text", "hello", "holds no"},
		{"cut in the data", good[:at+200], "holds no"},
		{"cut in the findings", good[:strings.LastIndex(good, "</script>")], "ends inside"},
		{"twice", good + good, "twice"},
		{"byte changed", strings.Replace(good, `"bytes":`, `"bytes":1`, 1), "fingerprint"},
		{"fingerprint changed", strings.Replace(good, `"sha256":"`, `"sha256":"0`, 1), "fingerprint"},
		{"not base64", strings.Replace(good, `"gzip_base64":"H`, `"gzip_base64":"!`, 1), "cannot be read"},
		{"not gzip", strings.Replace(good, `"gzip_base64":"H4`, `"gzip_base64":"AA`, 1), "cannot be read"},
		{"newer format", strings.Replace(good, `"format":1`, `"format":2`, 1), "format 2"},
		{"huge claim", strings.Replace(good, `"bytes":`, `"bytes":99999999`, 1), "claims"},
		{"no JSON", strings.Replace(good, `{"format"`, `{format`, 1), "cannot be read"},
	} {
		_, _, err := Extract(strings.NewReader(c.page))
		var fault knownwater.Fault
		if !errors.As(err, &fault) || !strings.Contains(err.Error(), c.says) || fault.Want == "" {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// A small block that would inflate to far more than it claims is refused
// without being inflated.
func TestExtractStopsABomb(t *testing.T) {
	p, err := File{"zeros", bytes.Repeat([]byte{0}, 50<<20)}.pack()
	if err != nil {
		t.Fatal(err)
	}
	p.Bytes = 10
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, err := p.unpack(); err == nil {
		t.Error("the bomb was taken")
	}
	runtime.ReadMemStats(&after)
	if n := after.TotalAlloc - before.TotalAlloc; n > 1<<20 {
		t.Errorf("%d bytes of memory for ten bytes", n)
	}
}

func FuzzExtract(f *testing.F) {
	fi, trial := fixture()
	var b bytes.Buffer
	fi.Methods = fi.Methods[:1]
	if err := HTML(&b, fi, trial, fixtureInputs()); err != nil {
		f.Fatal(err)
	}
	page := b.String()
	f.Add(page[strings.Index(page, "<script"):])
	f.Add(`<script id="knownwater-findings">{}</script><script id=knownwater-inputs>{"format":1,"readings":{"bytes":0}}</script>`)
	f.Add(`<SCRIPT id="knownwater-findings">{"methods":[{"levels":[{"mean":1e999}]}]}</SCRIPT`)
	f.Fuzz(func(t *testing.T, page string) {
		in, findings, err := Extract(strings.NewReader(page))
		if err != nil {
			return
		}
		if _, err := json.Marshal(findings); err != nil {
			t.Fatalf("findings that cannot be written: %v", err)
		}
		if _, err := in.pack(); err != nil {
			t.Fatal(err)
		}
	})
}
