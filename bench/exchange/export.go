package exchange

import (
	"archive/zip"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"knownwater"
	"knownwater/bench/store"
	"knownwater/sqlite"
)

// The export is a zip of bench.toml, which lists all that is in it with its
// SHA-256, a tables/NAME.csv for each table, and a photos/SHA256 for each photo.
// In the CSV an empty cell is an empty text, or nothing where the column holds
// numbers or links; times are RFC 3339 in UTC; infinite bounds are -Inf and +Inf.
const (
	manifestName = "bench.toml"
	tableFolder  = "tables/"
	photoFolder  = "photos/"
)

// manifest is bench.toml.
type manifest struct {
	Format  string         `toml:"format"`
	Schema  int            `toml:"schema"` // version of the tables
	Made    string         `toml:"made"`
	Program string         `toml:"about"`
	Quoted  bool           `toml:"formulas_quoted"` // an apostrophe stands before texts that a spreadsheet would take for a formula
	Files   []manifestFile `toml:"file"`
}

type manifestFile struct {
	Name   string `toml:"name"`
	Rows   int    `toml:"rows,omitempty"`
	Bytes  int64  `toml:"bytes"`
	SHA256 string `toml:"sha256"`
}

const (
	exportFormat = "knownwater bench 1"
	exportAbout  = "Everything on a bench but passphrase and sessions. tables/*.csv hold the rows, photos/* the pictures."
)

// Export writes everything on the bench, but for passphrase, sessions and
// pairings, as plain CSV and TOML in a zip. While a key is sealed it is noted in
// the trial that its key went out with an export. Owner.
func (b *Operations) Export(ctx context.Context, by knownwater.Who, w io.Writer) error {
	if err := by.MustOwn(); err != nil {
		return err
	}
	// first, so that the export holds it
	err := b.store.Write(ctx, func(t store.Tx) error { return b.from.NoteExport(t, by) })
	if err != nil {
		return err
	}
	return b.store.Read(ctx, func(t store.Tx) error { return export(t, w) })
}

func export(t store.Tx, w io.Writer) error {
	z := zip.NewWriter(w)
	m := manifest{Format: exportFormat, Schema: sqlite.SchemaVersion(), Made: store.TimeText(t.Now), Program: exportAbout, Quoted: true}
	for _, tab := range tables {
		if err := exportTable(t, z, &m, tab); err != nil {
			return fmt.Errorf("export %s: %w", tab.name, err)
		}
	}
	text, err := toml.Marshal(m)
	if err != nil {
		return err
	}
	f, err := z.Create(manifestName)
	if err != nil {
		return err
	}
	if _, err := f.Write(text); err != nil {
		return err
	}
	return z.Close()
}

func exportTable(t store.Tx, z *zip.Writer, m *manifest, tab table) error {
	var blobs []string
	err := addFile(z, m, tableFolder+tab.name+".csv", func(w io.Writer) (rows int, err error) {
		c := csv.NewWriter(w)
		if err := c.Write(tab.columns); err != nil {
			return 0, err
		}
		r, err := t.Rows(tableSelect[tab.name])
		if err != nil {
			return 0, err
		}
		defer r.Close()
		for ; r.Next(); rows++ {
			cells, err := scanCells(r.Scan, len(tab.columns))
			if err != nil {
				return 0, err
			}
			if tab.blob != "" {
				blobs = append(blobs, cells[0])
			}
			if err := c.Write(cells); err != nil {
				return 0, err
			}
		}
		c.Flush()
		return rows, cmp.Or(r.Err(), c.Error())
	})
	for _, name := range blobs { // one at a time: together they may be larger than the memory
		if err != nil {
			return err
		}
		var data []byte
		if data, err = store.One(t, "photo", photoBytes, store.Value[[]byte], name); err == nil {
			err = addFile(z, m, photoFolder+name, func(w io.Writer) (int, error) { return w.Write(data) })
		}
	}
	return err
}

// addFile writes one file of the zip and its line in the manifest.
func addFile(z *zip.Writer, m *manifest, name string, write func(io.Writer) (int, error)) error {
	f, err := z.Create(name)
	if err != nil {
		return err
	}
	sum := sha256.New()
	count := &counter{}
	rows, err := write(io.MultiWriter(f, sum, count))
	if name[:len(photoFolder)] == photoFolder {
		rows = 0
	}
	m.Files = append(m.Files, manifestFile{name, rows, count.n, hex.EncodeToString(sum.Sum(nil))})
	return err
}

type counter struct{ n int64 }

func (c *counter) Write(p []byte) (int, error) {
	c.n += int64(len(p))
	return len(p), nil
}

// scanCells scans a row into texts.
func scanCells(scan func(...any) error, n int) (cells []string, err error) {
	values := make([]any, n)
	into := make([]any, n)
	for i := range values {
		into[i] = &values[i]
	}
	if err := scan(into...); err != nil {
		return nil, err
	}
	for _, v := range values {
		c, err := cellText(v)
		if err != nil {
			return nil, err
		}
		cells = append(cells, c)
	}
	return cells, nil
}

// quoted is a text as a cell that no spreadsheet computes: = + - @, a tab or a
// carriage return in front, or an apostrophe before these, gets one more apostrophe.
func quoted(s string) string {
	if formula(s) {
		return "'" + s
	}
	return s
}

// unquoted is the text of a cell that quoted wrote.
func unquoted(cell string) string {
	if s, cut := strings.CutPrefix(cell, "'"); cut && formula(s) {
		return s
	}
	return cell
}

func formula(s string) bool {
	s = strings.TrimLeft(s, "'")
	return s != "" && strings.ContainsRune("=+-@\t\r", rune(s[0]))
}

func cellText(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "", nil
	case int64:
		return strconv.FormatInt(v, 10), nil
	case float64:
		return strconv.FormatFloat(v, 'g', -1, 64), nil
	case string:
		return quoted(v), nil
	}
	return "", fmt.Errorf("a value of type %T", v)
}

// Schema is the version of the files that this program writes; it opens those of every
// version up to it.
func Schema() int { return sqlite.SchemaVersion() }
