package exchange

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/csv"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// Bounds of what an import takes in. The names in the zip are only compared with
// names that we know; no path is ever made of them.
const (
	mostManifest   = 8 << 20
	mostImportFile = 1 << 30
	mostImportAll  = 4 << 30
	mostPhoto      = 64 << 20 // more than any program of ours ever kept
	mostEntries    = 200_000
)

// Import fills a new bench file at path from an export. It refuses a path where
// something already is, and a zip that is damaged, hostile or of a newer
// program; then nothing is left at path.
func Import(ctx context.Context, r io.ReaderAt, size int64, path string, from Sources) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return knownwater.Refuse(knownwater.InUse, "%s is there already: an export goes into a new bench", path)
	}
	in, err := openExport(r, size, from)
	if err != nil {
		return err
	}
	part := path + ".import"
	defer removeBench(part)
	removeBench(part)
	db, err := sqlite.Open(ctx, part)
	if err != nil {
		return store.Refused(err)
	}
	err = db.Write(ctx, func(t *sql.Tx) error { return in.load(store.Of(ctx, t)) })
	if err := errors.Join(err, db.Close()); err != nil {
		if sqlite.IsRule(err) {
			err = badExport(manifestName, "rows that contradict each other", "an export as this program writes it (%v)", err)
		}
		return store.Refused(err)
	}
	return store.Refused(sqlite.Backup(ctx, part, path)) // checks it, flushes it, and names it last
}

func removeBench(path string) {
	for _, end := range []string{"", "-wal", "-shm", ".lock"} {
		os.Remove(path + end)
	}
}

// incoming is an export that is being read.
type incoming struct {
	files  map[string]*zip.File
	lines  map[string]manifestFile
	schema int
	quoted bool  // texts that look like formulas have an apostrophe in front
	left   int64 // bytes that may still be unpacked
	from   Sources
}

func badExport(name, found, want string, values ...any) error {
	return knownwater.Faults{knownwater.Fault{File: name, Found: found, Want: want}.Of(values...)}
}

func openExport(r io.ReaderAt, size int64, from Sources) (*incoming, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, badExport("", "no zip that can be read: %v", "a zip that this program exported", err)
	}
	if len(z.File) > mostEntries {
		return nil, knownwater.Refuse(knownwater.TooLarge, "the zip has %d files", len(z.File))
	}
	in := &incoming{files: map[string]*zip.File{}, lines: map[string]manifestFile{}, left: mostImportAll, from: from}
	for _, f := range z.File {
		if in.files[f.Name] != nil {
			return nil, badExport(f.Name, "a file twice in the zip", "each file once")
		}
		in.files[f.Name] = f
	}
	return in, in.readManifest()
}

func (in *incoming) readManifest() error {
	var text bytes.Buffer
	if err := in.copied(&text, manifestName, mostManifest); err != nil {
		return err
	}
	var m manifest
	if err := toml.Unmarshal(text.Bytes(), &m); err != nil {
		return badExport(manifestName, err.Error(), "TOML as this program writes it")
	}
	switch {
	case m.Format != exportFormat:
		return badExport(manifestName, "format %.40q", exportFormat, m.Format)
	case m.Schema > sqlite.SchemaVersion():
		return knownwater.Refuse(knownwater.Newer, "the export was made by a newer version of this program: use that version")
	case m.Schema < oldestSchema:
		return badExport(manifestName, "schema %d", "%d to %d", m.Schema, oldestSchema, sqlite.SchemaVersion())
	}
	in.schema, in.quoted = m.Schema, m.Quoted
	for _, f := range m.Files {
		in.lines[f.Name] = f
	}
	return nil
}

// oldestSchema is the first schema that an export could come from.
const oldestSchema = 4

// open opens one file of the zip, to be read no further than most bytes whatever
// its header claims.
func (in *incoming) open(name string, most int64) (io.ReadCloser, error) {
	f := in.files[name]
	if f == nil {
		return nil, badExport(name, "no such file in the zip", "a zip that this program exported")
	}
	if f.UncompressedSize64 > uint64(min(most, in.left)) {
		return nil, knownwater.Refuse(knownwater.TooLarge, "%s unpacks to %d bytes", name, f.UncompressedSize64)
	}
	r, err := f.Open()
	if err != nil {
		return nil, badExport(name, err.Error(), "a file that can be unpacked")
	}
	return struct {
		io.Reader
		io.Closer
	}{io.LimitReader(r, most+1), r}, nil
}

// copied unpacks one file of the zip into w, at most most bytes of it.
func (in *incoming) copied(w io.Writer, name string, most int64) error {
	r, err := in.open(name, most)
	if err != nil {
		return err
	}
	defer r.Close()
	n, err := io.Copy(w, r)
	switch in.left -= n; {
	case err != nil:
		return badExport(name, err.Error(), "a file that can be unpacked")
	case n > most || in.left < 0:
		return knownwater.Refuse(knownwater.TooLarge, "%s unpacks to more than %d bytes", name, most)
	}
	return nil
}

// checked unpacks a file that stands in the manifest into w, and compares it
// with that.
func (in *incoming) checked(w io.Writer, name string, most int64) (manifestFile, error) {
	line, listed := in.lines[name]
	if !listed {
		return line, badExport(manifestName, "%s is not listed", "every file with its SHA-256", name)
	}
	if f := in.files[name]; f != nil && int64(f.UncompressedSize64) != line.Bytes {
		return line, badExport(name, "%d bytes", "%d bytes, as the manifest says", f.UncompressedSize64, line.Bytes)
	}
	sum := sha256.New()
	if err := in.copied(io.MultiWriter(w, sum), name, most); err != nil {
		return line, err
	}
	if hex.EncodeToString(sum.Sum(nil)) != line.SHA256 {
		return line, badExport(name, "not what was exported: its SHA-256 is another", "the file as it was exported")
	}
	return line, nil
}

// The two states of a trial that an import must know.
const (
	stateOpened   = "opened"
	stateFinished = "finished"
)

func (in *incoming) load(t store.Tx) error {
	if n, err := store.One(t, "count", emptyBench, store.Value[int]); err != nil || n > 0 {
		return cmp.Or(err, errors.New("the new bench is not empty"))
	}
	var finished []string
	for _, tab := range tables {
		err := in.eachRow(tab, func(line int, row []string) error {
			// A finished trial takes no readings: it is finished once they are in.
			if tab.name == "trial" && row[1] == stateFinished {
				row[1] = stateOpened
				finished = append(finished, row[0])
			}
			if err := in.insert(t, tab, row); err != nil {
				return fmt.Errorf("tables/%s.csv: %d: %w", tab.name, line, err)
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	for _, id := range finished {
		if err := t.Exec(importedState, id); err != nil {
			return err
		}
	}
	return in.checkDescriptions(t)
}

// checkDescriptions looks into what the tables themselves cannot check, so that no
// operation meets a chart without swatches later.
func (in *incoming) checkDescriptions(t store.Tx) error {
	for _, check := range in.from.KeptFaults {
		if table, err := check(t); err != nil {
			return badExport(tableFolder+table+".csv", err.Error(), "descriptions as this program writes them")
		}
	}
	return nil
}

// eachRow gives the rows of a table's CSV, without the header, one at a time: the
// file is unpacked twice, first to see that it is the one that was exported, so
// that none is ever held whole.
func (in *incoming) eachRow(tab table, do func(line int, row []string) error) error {
	if in.schema < tab.since {
		return nil
	}
	name := tableFolder + tab.name + ".csv"
	listed, err := in.checked(io.Discard, name, mostImportFile)
	if err != nil {
		return err
	}
	r, err := in.open(name, listed.Bytes)
	if err != nil {
		return err
	}
	defer r.Close()
	c := csv.NewReader(r)
	columns, lacking := tab.at(in.schema)
	c.FieldsPerRecord = len(columns)
	if header, err := c.Read(); err != nil && err != io.EOF {
		return badExport(name, err.Error(), "CSV as this program writes it")
	} else if strings.Join(header, ",") != strings.Join(columns, ",") {
		return badExport(name, "another header", strings.Join(columns, ","))
	}
	for n := 0; ; n++ {
		row, err := c.Read()
		switch {
		case err == io.EOF && n != listed.Rows:
			return badExport(name, "%d rows", "%d, as the manifest says", n, listed.Rows)
		case err == io.EOF:
			return nil
		case err != nil:
			return badExport(name, err.Error(), "CSV as this program writes it")
		}
		for j := range row {
			if in.quoted {
				row[j] = unquoted(row[j])
			}
		}
		if err := do(n+2, append(row, lacking...)); err != nil {
			return err
		}
	}
}

// insert writes a row; STRICT tables turn numbers in text into numbers, or
// refuse them.
func (in *incoming) insert(t store.Tx, tab table, row []string) error {
	args := make([]any, 0, len(row)+1)
	for i, cell := range row {
		v, err := cellValue(tab.name, tab.columns[i], cell)
		if err != nil {
			return err
		}
		args = append(args, v)
	}
	if tab.blob != "" {
		if len(row[0]) != 64 || strings.Trim(row[0], "0123456789abcdef") != "" {
			return badExport(tableFolder+tab.name+".csv", "photo %.80q", "a SHA-256 in hexadecimal digits", row[0])
		}
		var photo bytes.Buffer
		line, err := in.checked(&photo, photoFolder+row[0], mostPhoto)
		if err != nil {
			return err
		}
		if line.SHA256 != row[0] {
			return badExport(photoFolder+row[0], "a photo that is not what its name says", "a photo named by its SHA-256")
		}
		if _, err := in.from.PhotoType(photo.Bytes()); err != nil {
			return err
		}
		args = append(args, photo.Bytes())
	}
	return t.Exec(tableInsert[tab.name], args...)
}

// cellValue is the value of a cell: nothing where an empty cell means that, a
// number where the text is an infinite bound, else the text.
func cellValue(table, column, cell string) (any, error) {
	if cell == "" && nullable[table+"."+column] {
		return nil, nil
	}
	if column == "at" || strings.HasSuffix(column, "_at") {
		if _, err := store.ParseTime(cell); err != nil {
			return nil, badExport(column, fmt.Sprintf("%.80q", cell), "a time like 2026-03-01T08:00:00.000Z, or nothing")
		}
	}
	if realColumn[column] {
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil {
			return nil, badExport(column, fmt.Sprintf("%.80q", cell), "a number")
		}
		return v, nil
	}
	return cell, nil
}

// nullable columns hold nothing where their cell is empty; realColumn ones hold
// numbers with a fraction. A test holds both against the schema.
var (
	nullable = set(`event.trial_id vial.pos vial.lot_id photo.person_id reading.reader_id reading.lot_id
		reading.low reading.high reading.photo reading.supersedes reading.root curve_recheck.led_to
		result.curve_version_id result.record_version_id result.level result.u result.low result.high result.person_id result.supersedes result.root result.sample_id result.nitrite sample.water_id sample.known
		earlier_row.water_id earlier_row.method_id earlier_row.known earlier_row.nitrite`)
	realColumn = set("known u_known level u u_shared u_background nitrite u_nitrite dilution u_dilution u_lot start_s read_s low high off_by")
)

func set(names string) map[string]bool {
	s := map[string]bool{}
	for _, n := range words(names) {
		s[n] = true
	}
	return s
}
