package bench

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/science/interval"
	"knownwater/science/reading"
	"knownwater/sqlite"
)

// dump is every row of every exported table, as text.
func dump(t *testing.T, b *Bench) string {
	t.Helper()
	var out strings.Builder
	for _, tab := range tables {
		rows, err := raw(t, b.Path()).Query(tableSelect[tab.name])
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			cells := make([]any, len(tab.all()))
			into := make([]any, len(cells))
			for i := range cells {
				into[i] = &cells[i]
			}
			if err := rows.Scan(into...); err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&out, "%s %#v\n", tab.name, cells) // with types: 1, 1.0, "1" and nothing differ
		}
		if err := rows.Err(); err != nil {
			t.Fatal(err)
		}
	}
	return out.String()
}

// full is a bench with something in every table and every awkward value.
func full(t *testing.T) *shed {
	s := newShed(t)
	photo := must(s.KeepPhoto(ctx, s.ines, bytes.NewReader(picture(t, pngOf))))(t)
	r := s.sealed(s.plan())
	v := s.first(r.ID, s.ines, s.card.VersionID)
	if err := s.StartVial(ctx, s.ines, VialStart{Key: newKey(), Vial: v.ID}); err != nil {
		t.Fatal(err)
	}
	one := must(s.KeepReading(ctx, s.ines, NewReading{Key: newKey(), Vial: v.ID, Text: ">10", Photo: photo,
		Note: "a \"quoted\", awkward;\nnote\twith\r\nlines\n\n  and ünïcödé, =1+1, \\N"}))(t)
	must(s.CorrectReading(ctx, s.ines, one.ID, NewReading{Key: newKey(), Text: "0"}, "other way round"))(t)
	n := NewReading{Key: newKey(), Vial: v.ID, Text: "5"}
	must(s.KeepReading(ctx, s.tomo, n))(t)
	must(s.TakeBack(ctx, s.tomo, n.Key, newKey()))(t)
	if err := s.Exclude(ctx, owner, one.ID, true, "\n,\"'"); err != nil {
		t.Fatal(err)
	}
	s.readAll(r.ID, s.ines, s.tomo)
	must(s.OpenKey(ctx, owner, r.ID, ""))(t)
	must(s.Finish(ctx, owner, r.ID))(t)
	s.sealed(s.plan())
	must(s.NewTrial(ctx, owner, Plan{Title: "only an idea"}))(t)
	must(s.ImportTrial(ctx, owner, dataset(t), "imported", "a file"))(t)
	s.shelved()
	set := s.made()
	must(s.NewTrial(ctx, owner, s.plan().WithSet(set)))(t)
	s.curved()
	s.resulted()
	s.rechecked()
	return s
}

func export(t *testing.T, b *Bench) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := b.Export(ctx, owner, &out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func importAt(data []byte, path string) error {
	return Import(ctx, bytes.NewReader(data), int64(len(data)), path)
}

func TestRoundTripLosesNothing(t *testing.T) {
	s := full(t)
	data := export(t, s.Bench)
	before := dump(t, s.Bench) // after the export, which leaves a note in the sealed trial
	for _, tab := range tables {
		if !strings.Contains(before, tab.name+" ") {
			t.Errorf("the test bench has nothing in table %s", tab.name)
		}
	}
	path := filepath.Join(t.TempDir(), "new.db")
	if err := importAt(data, path); err != nil {
		t.Fatal(err)
	}
	other := must(Open(path, Options{Now: s.clock.now}))(t)
	defer other.Close()
	if after := dump(t, other); after != before {
		a, b := strings.Split(before, "\n"), strings.Split(after, "\n")
		for i := range min(len(a), len(b)) {
			if a[i] != b[i] {
				t.Fatalf("row %d was\n%s\nis\n%s", i, a[i], b[i])
			}
		}
		t.Fatalf("%d rows, were %d", len(b), len(a))
	}
	if err := other.write(ctx, func(t tx) error { return t.Exec("delete from reading") }); err == nil {
		t.Error("the imported bench is not append-only")
	}
	if left, _ := filepath.Glob(path + ".import*"); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if err := importAt(data, path); !errors.Is(err, &knownwater.Refusal{Kind: knownwater.InUse}) {
		t.Errorf("import over a bench: %v", err)
	}
}

func TestExportHoldsNoSecrets(t *testing.T) {
	s := newShed(t)
	if err := s.SetPassphrase(ctx, owner, "grey heron at low tide"); err != nil {
		t.Fatal(err)
	}
	must(s.NewPairing(ctx, owner, s.ines.Person, time.Hour))(t)
	s.Sessions().Commit("token", []byte("session data"), s.clock.t.Add(time.Hour))
	data := export(t, s.Bench)
	z := must(zip.NewReader(bytes.NewReader(data), int64(len(data))))(t)
	for _, f := range z.File {
		r := must(f.Open())(t)
		text := string(must(io.ReadAll(r))(t))
		for _, secret := range []string{"argon2id", "session data", hashOf("token")} {
			if strings.Contains(text, secret) {
				t.Errorf("%s holds %s", f.Name, secret)
			}
		}
	}
	wantRefusal(t, s.Export(ctx, s.ines, io.Discard), knownwater.NotAllowed)
}

func TestExportWhileSealedIsRecorded(t *testing.T) {
	s := newShed(t)
	r := s.sealed(s.plan())
	export(t, s.Bench)
	if seen := must(s.Trial(ctx, owner, r.ID))(t).Key.Seen; len(seen) != 1 || seen[0].Name != "Olive" {
		t.Errorf("looks at the key: %+v", seen)
	}
}

// rezip copies a zip with one file changed; nil leaves it out. Other names add.
func rezip(t *testing.T, data []byte, name string, change func([]byte) []byte, more map[string][]byte) []byte {
	t.Helper()
	z := must(zip.NewReader(bytes.NewReader(data), int64(len(data))))(t)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		text := must(io.ReadAll(must(f.Open())(t)))(t)
		if f.Name == name {
			if text = change(text); text == nil {
				continue
			}
		}
		must(must(w.Create(f.Name))(t).Write(text))(t)
	}
	for n, text := range more {
		must(must(w.Create(n))(t).Write(text))(t)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// forged changes a table and puts its new SHA-256 and size into the manifest, as
// somebody would who means harm.
func forged(t *testing.T, data []byte, table string, change func(string) string) []byte {
	t.Helper()
	name := tableFolder + table + ".csv"
	var old, text []byte
	out := rezip(t, data, name, func(b []byte) []byte {
		old, text = b, []byte(change(string(b)))
		return text
	}, nil)
	return rezip(t, out, manifestName, func(b []byte) []byte {
		m := strings.Replace(string(b), store.Digest(string(old)), store.Digest(string(text)), 1)
		return []byte(strings.Replace(m, fmt.Sprintf("bytes = %d\nsha256 = '%s'", len(old), store.Digest(string(text))),
			fmt.Sprintf("bytes = %d\nsha256 = '%s'", len(text), store.Digest(string(text))), 1))
	}, nil)
}

func TestHostileImports(t *testing.T) {
	s := full(t)
	good := export(t, s.Bench)
	same := func(b []byte) []byte { return b }
	empty := func([]byte) []byte { return nil }
	replace := func(old, new string) func([]byte) []byte {
		return func(b []byte) []byte { return bytes.ReplaceAll(b, []byte(old), []byte(new)) }
	}
	for name, data := range map[string][]byte{
		"no zip":            []byte("hello"),
		"nothing":           {},
		"cut short":         good[:len(good)/2],
		"no manifest":       rezip(t, good, manifestName, empty, nil),
		"broken manifest":   rezip(t, good, manifestName, replace("format", "[[["), nil),
		"other format":      rezip(t, good, manifestName, replace(exportFormat, "something else"), nil),
		"old schema":        rezip(t, good, manifestName, replace(fmt.Sprintf("schema = %d", sqlite.SchemaVersion()), "schema = 1"), nil),
		"table missing":     rezip(t, good, "tables/vial.csv", empty, nil),
		"table changed":     rezip(t, good, "tables/reading.csv", replace("5", "6"), nil),
		"manifest twice":    rezip(t, good, "", same, map[string][]byte{manifestName: []byte("x")}),
		"row counts lie":    rezip(t, good, manifestName, replace("rows = ", "rows = 1"), nil),
		"negative bytes":    rezip(t, good, manifestName, replace("bytes = ", "bytes = -"), nil),
		"other header":      forged(t, good, "person", func(s string) string { return strings.Replace(s, "alias", "alibi", 1) }),
		"text for number":   forged(t, good, "known", func(s string) string { return strings.ReplaceAll(s, "6.9", "six") }),
		"no such role":      forged(t, good, "person", func(s string) string { return strings.Replace(s, ",reader,", ",king,", 1) }),
		"no such method":    forged(t, good, "method_version", func(s string) string { return strings.Replace(s, "\n1,1,", "\n1,77,", 1) }),
		"spec is no JSON":   forged(t, good, "need", func(s string) string { return strings.ReplaceAll(s, "{", "[") }),
		"chart without":     forged(t, good, "method_version", func(s string) string { return strings.ReplaceAll(s, `""value"":`, `""worth"":`) }),
		"spec is a list":    forged(t, good, "method_version", func(s string) string { return strings.Replace(s, `"{""name""`, `"[{""name""`, 1) }),
		"set of strings":    forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""amount"":`, `""amount"":""x"",""y"":`) }),
		"set beyond reason": forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""nominal"":250`, `""nominal"":-250`) }),
		"set without stock": forged(t, good, "prepared_version", func(s string) string { return strings.ReplaceAll(s, `""stock"":{`, `""stick"":{`) }),
		"curve of no shape": forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""kind"":""absorbance""`, `""kind"":""spoon""`) }),
		"curve of strings":  forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""signal"":0`, `""signal"":""x"",""y"":0`) }),
		"re-check of none":  forged(t, good, "curve_recheck", func(s string) string { return strings.ReplaceAll(s, `""blank"":[`, `""blink"":[`) }),
		"slope of nothing":  forged(t, good, "curve_version", func(s string) string { return strings.ReplaceAll(s, `""factor"":`, `""facts"":`) }),
		"result of nothing": forged(t, good, "result", func(s string) string { return strings.ReplaceAll(s, ",[2.5],", ",[],") }),
		"result of nobody":  forged(t, good, "result", func(s string) string { return strings.Replace(s, ",1,north tank,", ",,north tank,", 1) }),
		"thing of no kind":  forged(t, good, "shelf_version", func(s string) string { return strings.ReplaceAll(s, `{""kind"":""device""`, `{""kind"":""spoon""`) }),
		"plan of no set":    forged(t, good, "trial", func(s string) string { return strings.ReplaceAll(s, `""set"":2`, `""set"":99`) }),
		"plan of strings":   forged(t, good, "trial", func(s string) string { return strings.ReplaceAll(s, `""sessions"":2`, `""sessions"":""2""`) }),
		"time that is none": forged(t, good, "event", func(s string) string { return strings.Replace(s, "2026-03-01T", "last winter ", 1) }),
		"reading without":   forged(t, good, "reading", func(s string) string { return strings.ReplaceAll(s, ",1..2.5,", ",,") }),
		"half a quote":      forged(t, good, "event", func(s string) string { return s + "\"" }),
		"columns missing":   forged(t, good, "lot", func(s string) string { return s + "1,2\n" }),
		"photo of no name":  forged(t, good, "photo", func(s string) string { return s[:strings.Index(s, "\n")+1] + "../../x,image/png,1,,,\n" }),
	} {
		path := filepath.Join(t.TempDir(), "new.db")
		err := importAt(data, path)
		t.Logf("%s: %v", name, err)
		var fs knownwater.Faults
		var r *knownwater.Refusal
		if !errors.As(err, &fs) && !errors.As(err, &r) {
			t.Errorf("%s: error %v", name, err)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) > 0 {
			t.Errorf("%s: left behind %v", name, left)
		}
	}
}

func TestImportOfANewerProgram(t *testing.T) {
	s := newShed(t)
	data := rezip(t, export(t, s.Bench), manifestName, func(b []byte) []byte {
		return bytes.Replace(b, fmt.Appendf(nil, "schema = %d", sqlite.SchemaVersion()), fmt.Appendf(nil, "schema = %d", sqlite.SchemaVersion()+1), 1)
	}, nil)
	wantRefusal(t, importAt(data, filepath.Join(t.TempDir(), "new.db")), knownwater.Newer)
}

// TestPathsInTheZip: names that lead elsewhere are never followed, listed or not.
func TestPathsInTheZip(t *testing.T) {
	s := newShed(t)
	dir := t.TempDir()
	bad := map[string][]byte{"../escaped": []byte("x"), "/tmp/knownwater-escaped": []byte("x"), "tables/../../escaped": []byte("x"), "..\\escaped": []byte("x")}
	data := rezip(t, export(t, s.Bench), "", nil, bad)
	inner := filepath.Join(dir, "inner")
	if err := os.Mkdir(inner, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := importAt(data, filepath.Join(inner, "new.db")); err != nil {
		t.Fatal(err)
	}
	for _, place := range []string{filepath.Join(dir, "escaped"), "/tmp/knownwater-escaped"} {
		if _, err := os.Stat(place); err == nil {
			t.Errorf("%s was written", place)
		}
	}
}

// TestZipBomb: a table that unpacks to much more than it says is cut off.
func TestZipBomb(t *testing.T) {
	in := &incoming{left: 1 << 20}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	f := must(w.Create("bomb"))(t)
	zeros := make([]byte, 1<<20)
	for range 64 {
		must(f.Write(zeros))(t)
	}
	w.Close()
	z := must(zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len())))(t)
	in.files = map[string]*zip.File{"bomb": z.File[0]}
	_, err := in.unpack("bomb", mostImportFile)
	wantRefusal(t, err, knownwater.TooLarge)
	z.File[0].UncompressedSize64 = 10 // a header that lies
	if _, err = in.unpack("bomb", mostImportFile); err == nil {
		t.Error("a lying header went through")
	}
}

// FuzzImport feeds a manifest and a table to the import: whatever they hold, it
// answers, and what it lets in is on the bench's own terms.
func FuzzImport(f *testing.F) {
	b, err := Open(filepath.Join(f.TempDir(), "b.db"), Options{})
	if err != nil {
		f.Fatal(err)
	}
	defer b.Close()
	f.Add([]byte("format = 'knownwater bench 1'\nschema = 4\n[[file]]\nname = 'tables/person.csv'\nrows = 1\nbytes = 3\nsha256 = 'x'\n"),
		[]byte("id,name,role,alias,gone,made_at,made_by,made_from\n1,Ines,reader,,0,2026-03-01T08:00:00.000Z,Olive,here\n"), 1)
	f.Add([]byte("format = 'knownwater bench 1'\nschema = 4\n"), []byte("id,retired\n1,0\n-5,x\n"), 2)
	f.Fuzz(func(t *testing.T, toml, text []byte, which int) {
		var out bytes.Buffer
		w := zip.NewWriter(&out)
		tab := tables[uint(which)%uint(len(tables))]
		name := tableFolder + tab.name + ".csv"
		must(must(w.Create(manifestName))(t).Write(toml))(t)
		must(must(w.Create(name))(t).Write(text))(t)
		w.Close()
		in, err := openExport(bytes.NewReader(out.Bytes()), int64(out.Len()))
		if err != nil {
			return
		}
		in.lines[name] = manifestFile{Name: name, Bytes: int64(len(text)), SHA256: store.Digest(string(text)), Rows: in.lines[name].Rows}
		rows, err := in.rows(tab)
		if err != nil {
			return
		}
		undo := errors.New("undo")
		err = b.write(ctx, func(x tx) error {
			for _, r := range rows {
				if err := in.insert(x, tab, r); err != nil {
					return err
				}
			}
			if err := x.checkDescriptions(); err != nil {
				return err
			}
			return undo
		})
		if err == nil {
			t.Error("no error, though it was undone")
		}
	})
}

// dataset is a small data set as an assessment reads it.
func dataset(t *testing.T) knownwater.Trial {
	t.Helper()
	card := knownwater.Method{Name: "Birch card", Kind: knownwater.Chart, Swatches: []float64{0, 3, 6, 12}, AtShare: 0.3, PackPrice: 9.5, PackTests: 40, Minutes: 5}
	count := knownwater.Method{Name: "Drop count", Kind: knownwater.Drops, DropValue: 0.5, DilutionOver: 6, DilutionFactor: 4}
	shown := knownwater.Method{Name: "Elm meter", Kind: knownwater.Display, Resolution: 0.1, Range: &interval.Interval{Low: 0, High: 20}}
	d := knownwater.Trial{
		Scale: nitrate, Water: seaward, WaterStated: true, Methods: []knownwater.Method{card, count, shown},
		Needs: []knownwater.Need{{Name: "spot a rise", Low: 1, High: 15, Permitted: []knownwater.Permit{{At: 1, Error: 0.4}}, MoneyAYear: 100}},
		Notes: []string{"levels were given without u_level"},
	}
	row := 1
	add := func(m knownwater.Method, level float64, text string, dilution float64, o knownwater.Observation) {
		row++
		seen, err := reading.Understand(text, m)
		if err != nil {
			t.Fatal(err)
		}
		o.Method, o.Level, o.Text, o.Seen, o.Dilution, o.Row = m.Name, level, text, seen, dilution, row
		o.Count = max(1, o.Count)
		d.Observations = append(d.Observations, o)
		for range o.Count - 1 {
			row++
			d.Observations[len(d.Observations)-1].Also = append(d.Observations[len(d.Observations)-1].Also, row)
		}
	}
	add(card, 0, "0", 1, knownwater.Observation{Session: "Monday", Reader: "Ines", Count: 3})
	add(card, 4.2, "3..6", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05, Session: "Monday", Reader: "Kai", Lot: "B1", Technique: "hasty"})
	add(card, 4.2, "6", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05, Session: "Monday", Reader: "Kai", Lot: "B1", Technique: "hasty"})
	add(card, 15, ">12", 1, knownwater.Observation{Vial: "K7", Matrix: "tank water"})
	add(count, 4.2, "8d", 1, knownwater.Observation{ULevel: 0.1, UShared: -0.05})
	add(count, 15, "7d", 4, knownwater.Observation{UDilution: 0.01, Vial: "K7", Reader: "Ines"})
	add(shown, 1.0/3, "0.3", 1, knownwater.Observation{Reader: "Ines", Count: 2})
	add(shown, 1e-17, "<0.1", 1, knownwater.Observation{})
	return d
}
