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
			err = badExport(manifestName, "rows that contradict each other", "an export as this program writes it ("+err.Error()+")")
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

func badExport(name, found, want string) error {
	return knownwater.Faults{{File: name, Found: found, Want: want}}
}

func openExport(r io.ReaderAt, size int64, from Sources) (*incoming, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, badExport("", "no zip that can be read: "+err.Error(), "a zip that this program exported")
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
	text, err := in.unpack(manifestName, mostManifest)
	if err != nil {
		return err
	}
	var m manifest
	if err := toml.Unmarshal(text, &m); err != nil {
		return badExport(manifestName, err.Error(), "TOML as this program writes it")
	}
	switch {
	case m.Format != exportFormat:
		return badExport(manifestName, fmt.Sprintf("format %.40q", m.Format), exportFormat)
	case m.Schema > sqlite.SchemaVersion():
		return knownwater.Refuse(knownwater.Newer, "the export was made by a newer version of this program: use that version")
	case m.Schema < oldestSchema:
		return badExport(manifestName, fmt.Sprintf("schema %d", m.Schema), fmt.Sprintf("%d to %d", oldestSchema, sqlite.SchemaVersion()))
	}
	in.schema, in.quoted = m.Schema, m.Quoted
	for _, f := range m.Files {
		in.lines[f.Name] = f
	}
	return nil
}

// oldestSchema is the first schema that an export could come from.
const oldestSchema = 4

// unpack reads one file of the zip, no further than most bytes whatever its
// header claims.
func (in *incoming) unpack(name string, most int64) ([]byte, error) {
	f := in.files[name]
	if f == nil {
		return nil, badExport(name, "no such file in the zip", "a zip that this program exported")
	}
	most = min(most, in.left)
	if f.UncompressedSize64 > uint64(most) {
		return nil, knownwater.Refuse(knownwater.TooLarge, "%s unpacks to %d bytes", name, f.UncompressedSize64)
	}
	r, err := f.Open()
	if err != nil {
		return nil, badExport(name, err.Error(), "a file that can be unpacked")
	}
	defer r.Close()
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return nil, badExport(name, err.Error(), "a file that can be unpacked")
	}
	if int64(len(data)) > most {
		return nil, knownwater.Refuse(knownwater.TooLarge, "%s unpacks to more than %d bytes", name, most)
	}
	in.left -= int64(len(data))
	return data, nil
}

// checked unpacks a file that stands in the manifest, and compares it with that.
func (in *incoming) checked(name string) ([]byte, manifestFile, error) {
	line, listed := in.lines[name]
	if !listed {
		return nil, line, badExport(manifestName, name+" is not listed", "every file with its SHA-256")
	}
	data, err := in.unpack(name, mostImportFile)
	if err != nil {
		return nil, line, err
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != line.SHA256 || int64(len(data)) != line.Bytes {
		return nil, line, badExport(name, "not what was exported: its SHA-256 is another", "the file as it was exported")
	}
	return data, line, nil
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
		rows, err := in.rows(tab)
		if err != nil {
			return err
		}
		for i, row := range rows {
			// A finished trial takes no readings: it is finished once they are in.
			if tab.name == "trial" && row[1] == stateFinished {
				row[1] = stateOpened
				finished = append(finished, row[0])
			}
			if err := in.insert(t, tab, row); err != nil {
				return fmt.Errorf("tables/%s.csv: %d: %w", tab.name, i+2, err)
			}
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

// rows are the rows of a table's CSV, without the header.
func (in *incoming) rows(tab table) ([][]string, error) {
	if in.schema < tab.since {
		return nil, nil
	}
	name := tableFolder + tab.name + ".csv"
	data, line, err := in.checked(name)
	if err != nil {
		return nil, err
	}
	c := csv.NewReader(bytes.NewReader(data))
	columns, lacking := tab.at(in.schema)
	c.FieldsPerRecord = len(columns)
	rows, err := c.ReadAll()
	if err != nil {
		return nil, badExport(name, err.Error(), "CSV as this program writes it")
	}
	if len(rows) == 0 || strings.Join(rows[0], ",") != strings.Join(columns, ",") {
		return nil, badExport(name, "another header", strings.Join(columns, ","))
	}
	if len(rows)-1 != line.Rows {
		return nil, badExport(name, fmt.Sprintf("%d rows", len(rows)-1), fmt.Sprintf("%d, as the manifest says", line.Rows))
	}
	for i, row := range rows {
		for j := range row {
			if in.quoted && i > 0 {
				row[j] = unquoted(row[j])
			}
		}
		rows[i] = append(row, lacking...)
	}
	return rows[1:], nil
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
			return badExport(tableFolder+tab.name+".csv", fmt.Sprintf("photo %.80q", row[0]), "a SHA-256 in hexadecimal digits")
		}
		data, line, err := in.checked(photoFolder + row[0])
		if err != nil {
			return err
		}
		if line.SHA256 != row[0] {
			return badExport(photoFolder+row[0], "a photo that is not what its name says", "a photo named by its SHA-256")
		}
		if _, err := in.from.PhotoType(data); err != nil {
			return err
		}
		args = append(args, data)
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
		result.curve_version_id result.record_version_id result.level result.u result.low result.high result.person_id result.supersedes result.root`)
	realColumn = set("level u u_shared dilution u_dilution u_lot start_s read_s low high off_by")
)

func set(names string) map[string]bool {
	s := map[string]bool{}
	for _, n := range words(names) {
		s[n] = true
	}
	return s
}
